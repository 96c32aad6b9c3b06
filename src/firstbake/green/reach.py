"""How far porcelain stands away from its core, measured in its own thickness."""

from dataclasses import dataclass

import numpy as np

from firstbake.green.laws import smoothstep
from firstbake.green.spread import spread
from firstbake.mesh import Floats, Surface, nearest

_ROUNDS = 12
_LEAST_DEPTH = 0.5  # touching points less than 60° apart on the ball are the same wall (chosen here)
_CLEAR = 1e-3
_COLLAPSED = 0.1  # a ball smaller than this share of the distance to the core sits on a ridge (chosen here)
BONDED_TO, FREE_FROM = 1.0, 2.0  # distance from the core in local thicknesses (judgement, no measured source)


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
        square = np.einsum("ij,ij->i", wall, wall)
        going = pierced & (depth > _LEAST_DEPTH * np.sqrt(square))
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

    The distance to the core over the local thickness of the porcelain is 1 over a plain layer; up to
    BONDED_TO it counts as bonded, from FREE_FROM on as free, a smoothstep lies between. At a sharp ridge no
    ball fits and the ratio says nothing; there the vertices round it decide.

    thickness_mm : (n,) shortest distance from each vertex of the contour to the core, mm
    """
    wall = wall_mm(contour, thickness_mm)
    told = (wall > _COLLAPSED * thickness_mm) | (thickness_mm <= 0)
    ratio = np.divide(thickness_mm, wall, out=np.ones_like(wall), where=told & (wall > 0))
    share = smoothstep((ratio - BONDED_TO) / (FREE_FROM - BONDED_TO)) * told
    reach = 0.5 * np.clip(thickness_mm, 0.0, 1.0)
    weight = spread(contour, told.astype(np.float64), reach)
    share = np.divide(spread(contour, share, reach), weight, out=np.zeros_like(share), where=weight > 1e-6)
    middle = contour.vertices_mm - 0.5 * wall[:, None] * contour.vertex_normals
    return Reach(np.clip(share, 0.0, 1.0), nearest(core, middle).foot_mm)
