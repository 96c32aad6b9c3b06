"""How far porcelain stands away from its core, measured in its own thickness."""

from dataclasses import dataclass

import numpy as np

from firstbake.green.laws import smoothstep
from firstbake.green.spread import spread
from firstbake.mesh import Floats, Surface, nearest

_ROUNDS = 12
_LEAST_ANGLE_COS = (
    0.5  # touching points less than 60° apart belong to the same side of the wall (chosen here)
)
_CLEAR = 1e-3


def wall_mm(contour: Surface, thickness_mm: Floats) -> Floats:
    """Local thickness of the porcelain: diameter of the largest ball that touches the contour at each vertex.

    The ball lies inside the contour and does not enter the core. One of diameter thickness_mm (the
    shortest distance to the core) cannot enter it, so only the contour can make it smaller: from there
    the ball shrinks until no other wall of the contour lies inside it.

    thickness_mm : (n,) shortest distance to the core, mm
    returns      : (n,) mm, at most thickness_mm (0 where that is not positive)
    source       : shrinking-ball medial axis, Ma, Bae and Choi 2012, 3D medial axis point approximation
                   using nearest neighbours and the normal field, with a least angle against mesh noise
    """
    radius = 0.5 * np.maximum(thickness_mm, 0.0)
    active = np.flatnonzero(radius > 1e-3)
    for _ in range(_ROUNDS):
        if len(active) == 0:
            break
        point, inward = contour.vertices_mm[active], -contour.vertex_normals[active]
        centre = point + radius[active, None] * inward
        found = nearest(contour, centre)
        wall = found.foot_mm - point
        depth = np.einsum("ij,ij->i", wall, inward)
        pierced = found.distance_mm < radius[active] * (1 - _CLEAR)
        to_point = (point - centre) / np.maximum(radius[active], 1e-12)[:, None]
        to_wall = (found.foot_mm - centre) / np.maximum(found.distance_mm, 1e-12)[:, None]
        apart = np.einsum("ij,ij->i", to_point, to_wall) < _LEAST_ANGLE_COS
        going = pierced & apart & (depth > 1e-9)
        square = np.einsum("ij,ij->i", wall, wall)
        active, depth, square = active[going], depth[going], square[going]
        radius[active] = np.minimum(radius[active], square / (2 * depth))
    return np.asarray(2 * radius)


@dataclass(frozen=True, eq=False)
class Reach:
    """Where porcelain is free of its core (n vertices of the contour).

    free_share : (n,) 0 where it shrinks as a layer bonded to the core, 1 where as a free body
    anchor_mm  : (n, 3) the place of the core toward which a free part shrinks: the nearest point of the
                 core to the middle of the wall, so that both sides of a free edge draw toward each other
    """

    free_share: Floats
    anchor_mm: Floats


def reach_of(contour: Surface, core: Surface, thickness_mm: Floats) -> Reach:
    """How free the porcelain under each vertex of the contour is, and toward where it shrinks.

    The distance to the core over the local thickness of the porcelain is 1 over a plain layer; from 2 on
    the porcelain is taken as free (judgement of this project; a smoothstep lies between).

    thickness_mm : (n,) shortest distance from each vertex of the contour to the core, mm
    """
    wall = wall_mm(contour, thickness_mm)
    ratio = np.divide(thickness_mm, wall, out=np.ones_like(wall), where=wall > 1e-3)
    share = spread(contour, smoothstep(ratio - 1.0), 0.5 * np.clip(thickness_mm, 0.0, 1.0))
    middle = contour.vertices_mm - 0.5 * wall[:, None] * contour.vertex_normals
    return Reach(np.clip(share, 0.0, 1.0), nearest(core, middle).foot_mm)
