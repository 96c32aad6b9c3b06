"""Which side of a surface a point lies on, also near the margin of an open shell."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface, nearest, winding_number

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_UNSURE = 0.3
"""A winding number within this of one half does not settle the side by itself (chosen here)."""
_ON_EDGE = 1e-6
_TOUCHING_MM = 1e-3
_SMOOTH = float(np.cos(np.pi / 6))


@dataclass(frozen=True, eq=False)
class Approach:
    """Signed distance from p points to a surface, and what lies at the foot points.

    distance_mm : (p,) less than 0 inside          foot_mm : (p, 3) nearest point of the surface
    face        : (p,) face of each foot            foot_normal : (p, 3) unit normal there, from the vertices
    on_loop     : (p,) True where the foot lies on a boundary loop
    """

    distance_mm: Floats
    foot_mm: Floats
    face: NDArray[np.int64]
    foot_normal: Floats
    on_loop: Flags


def loop_flags(surface: Surface) -> Flags:
    """(n,) True for the vertices of every boundary loop."""
    flags = np.zeros(len(surface.vertices_mm), dtype=np.bool_)
    for loop in surface.loops:
        flags[loop] = True
    return flags


def whole_faces(surface: Surface, vertices: Flags) -> Flags:
    """(m,) True for the faces whose three vertices are all marked."""
    return np.asarray(vertices[surface.faces].all(axis=1))


def weights_at(surface: Surface, face: NDArray[np.int64], foot_mm: Floats) -> Floats:
    """(p, 3) barycentric weights of the feet in their faces."""
    a, b, c = (surface.vertices_mm[surface.faces[face, k]] for k in range(3))
    cross = surface.face_crosses_mm2[face]
    square = np.maximum(np.einsum("ij,ij->i", cross, cross), 1e-300)
    u = np.einsum("ij,ij->i", np.cross(c - b, foot_mm - b), cross) / square
    v = np.einsum("ij,ij->i", np.cross(a - c, foot_mm - c), cross) / square
    return np.asarray(np.clip(np.column_stack([u, v, 1 - u - v]), 0.0, 1.0))


def _inside(surface: Surface, points: Floats, settled_normal: Floats, free: Flags) -> Flags:
    """(p,) True inside: the winding number decides; where it is unsure, the side of the foot's normal.

    settled_normal : (p, 3) dot-able normal, `free` : (p,) True where the foot is not on a boundary loop
    """
    winding = winding_number(surface, points)
    inside = np.asarray(winding > 0.5)
    unsure = free & (np.abs(winding - 0.5) < _UNSURE)
    behind = settled_normal < 0
    inside[unsure] = behind[unsure]
    return inside


def approach(surface: Surface, points_mm: Floats) -> Approach:
    """Exact distance of (p, 3) points to the surface with a sign that holds near an open margin.

    The winding number gives the sign; an open shell leaves it near one half round its margin, and
    there the normal at the foot decides unless the foot lies on the boundary loop itself.
    """
    points = np.asarray(points_mm, dtype=np.float64).reshape(-1, 3)
    found = nearest(surface, points)
    weights = weights_at(surface, found.face, found.foot_mm)
    corners = surface.faces[found.face]
    normal = np.einsum("pk,pkj->pj", weights, surface.vertex_normals[corners])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = np.divide(normal, length, out=surface.face_normals[found.face].copy(), where=length > _ON_EDGE)
    off_loop = np.where(loop_flags(surface)[corners], 0.0, weights).sum(axis=1)
    on_loop = off_loop < _ON_EDGE
    side = np.einsum("ij,ij->i", points - found.foot_mm, normal)
    inside = _inside(surface, points, side, ~on_loop)
    distance = np.where(inside, -found.distance_mm, found.distance_mm)
    return Approach(distance, found.foot_mm, found.face, normal, on_loop)


class Approaches:
    """Approaches of the vertices of one surface to another, each computed once.

    The surfaces must be the same objects from call to call; they are held, so that none is taken for
    another.
    """

    def __init__(self) -> None:
        self._known: dict[tuple[int, int], tuple[Surface, Surface, Approach]] = {}

    def of(self, surface: Surface, onto: Surface) -> Approach:
        """The approach of every vertex of `surface` to `onto`."""
        key = (id(surface), id(onto))
        if key not in self._known:
            self._known[key] = (surface, onto, approach(onto, surface.vertices_mm))
        return self._known[key][2]


def outward(found: Approach, points_mm: Floats) -> Floats:
    """(p, 3) unit direction in which the signed distance grows; the foot's normal where they touch."""
    away = np.asarray(points_mm) - found.foot_mm
    clear = np.abs(found.distance_mm) > _TOUCHING_MM
    direction = found.foot_normal.copy()
    direction[clear] = away[clear] / found.distance_mm[clear, None]
    return direction


def bulge_mm(surface: Surface, face: NDArray[np.int64], points_mm: Floats) -> Floats:
    """(p,) how far the smooth surface stands out over its facet at (p, 3) points of the facets, mm.

    Half the weighted height of the corners' tangent planes over the point, which is exact for a surface of
    second order whose corners and normals are right (own derivation: over a chord of length L the sag is
    w(1-w)L²/2R and that height w(1-w)L²/R). 0 where the corners' normals part by more than 30 degrees.
    """
    weights = weights_at(surface, face, points_mm)
    corners = surface.vertices_mm[surface.faces[face]]
    normals = surface.vertex_normals[surface.faces[face]]
    heights = np.einsum("pkj,pkj->pk", corners - points_mm[:, None], normals)
    turns = np.einsum("pkj,pkj->pk", normals, np.roll(normals, 1, axis=1)).min(axis=1)
    return np.where(turns > _SMOOTH, 0.5 * np.einsum("pk,pk->p", weights, heights), 0.0)


def distance_to_loop(surface: Surface, loop: NDArray[np.int32], points_mm: Floats) -> Floats:
    """(p,) exact distance of (p, 3) points to the closed polyline through the loop's vertices, mm."""
    start = surface.vertices_mm[loop]
    end = np.roll(start, -1, axis=0)
    middle = 0.5 * (start + end)
    ribbon = Surface(np.vstack([start, end, middle]), _needles(len(loop)))
    return nearest(ribbon, points_mm).distance_mm


def _needles(count: int) -> NDArray[np.int32]:
    """Faces that are each one segment: start, end and middle of it."""
    rows = np.arange(count, dtype=np.int32)
    return np.column_stack([rows, rows + count, rows + 2 * count])
