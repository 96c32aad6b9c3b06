"""Gap between the contour and another surface, both ways, and the area where they are near."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface
from firstbake.room.regions import below_zero_share
from firstbake.room.sides import approach, bulge_mm

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_SAMPLE = 400
_REACH = 0.6
"""A point of a triangle is nearer than this share of its longest edge to a corner (1/sqrt(3) = 0.577)."""
_SIDES = 4
"""Each near triangle is cut into _SIDES² equal ones: two subdivisions (chosen here)."""


@dataclass(frozen=True, eq=False)
class Gap:
    """Least signed distance between two surfaces, mm (less than 0 where they overlap), and where.

    at_mm : (3,) the point of the contour          other_mm : (3,) the point of the other surface
    """

    least_mm: float
    at_mm: Floats
    other_mm: Floats


def least_gap(contour: Surface, other: Surface, *, counts: Flags) -> Gap:
    """Least gap both ways: vertices and subdivided near triangles of the contour, vertices of the other.

    counts : (m,) bool, faces of the contour that matter (where there is porcelain)
    """
    own = np.unique(contour.faces[counts])
    bound = _bound_mm(contour.vertices_mm[own], other)
    near = own[_box_distance(contour.vertices_mm[own], other) <= bound]
    there = approach(other, contour.vertices_mm[near])
    best = int(np.argmin(there.distance_mm))
    found = Gap(float(there.distance_mm[best]), contour.vertices_mm[near[best]], there.foot_mm[best])
    return min(
        (found, _within_faces(contour, other, counts, found), _backward(contour, other, counts, bound)),
        key=lambda gap: gap.least_mm,
    )


def area_within_mm2(contour: Surface, other: Surface, *, counts: Flags, tolerances_mm: Floats) -> Floats:
    """(t,) area of the counted faces nearer to the other surface than each tolerance, mm².

    Triangles that can reach the tolerance are cut twice; within each small triangle the distance is
    taken as linear between its values at the corners. Those are exact distances less the bulge of both
    smooth surfaces over their facets, since a few micrometres of sag would hide a good part of the area.
    """
    faces = _reachable(contour, other, counts, float(tolerances_mm.max()))
    if len(faces) == 0:
        return np.zeros(len(tolerances_mm))
    distance = _smooth_distance(contour, other, faces).reshape(len(faces), -1)
    corners = distance[:, _small_triangles()].reshape(-1, 3)
    areas = np.repeat(contour.face_areas_mm2[faces] / _SIDES**2, _SIDES**2)
    return np.array([float(areas @ below_zero_share(corners - tolerance)) for tolerance in tolerances_mm])


def _bound_mm(points: Floats, other: Surface) -> float:
    """An upper bound of the gap, at least 0, from a sample of the points."""
    step = max(1, len(points) // _SAMPLE)
    return max(0.0, float(approach(other, points[::step]).distance_mm.min()))


def _box_distance(points: Floats, surface: Surface) -> Floats:
    """(p,) distance of points to the surface's box, a lower bound of the distance to the surface."""
    low, high = surface.bounds_mm
    return np.asarray(np.linalg.norm(np.maximum(np.maximum(low - points, points - high), 0.0), axis=1))


def _longest_edges(surface: Surface, faces: NDArray[np.int64]) -> Floats:
    corners = surface.vertices_mm[surface.faces[faces]]
    return np.asarray(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1))


def _reachable(contour: Surface, other: Surface, counts: Flags, tolerance_mm: float) -> NDArray[np.int64]:
    """Faces that may hold points nearer than the tolerance (the distance changes no faster than the path)."""
    faces = np.flatnonzero(counts)
    reach = _REACH * _longest_edges(contour, faces) + tolerance_mm
    box = _box_distance(contour.vertices_mm, other)[contour.faces[faces]].min(axis=1)
    faces, reach = faces[box < reach], reach[box < reach]
    if len(faces) == 0:
        return np.asarray(faces)
    vertices, place = np.unique(contour.faces[faces], return_inverse=True)
    distance = approach(other, contour.vertices_mm[vertices]).distance_mm
    return np.asarray(faces[distance[place.reshape(-1, 3)].min(axis=1) < reach])


def _smooth_distance(contour: Surface, other: Surface, faces: NDArray[np.int64]) -> Floats:
    """(15 f,) distance at the nodes of the cut faces, as between the smooth surfaces under the facets."""
    nodes = _nodes(contour, faces).reshape(-1, 3)
    there = approach(other, nodes)
    own = np.repeat(faces, len(_lattice()))
    facing = -np.einsum("ij,ij->i", contour.face_normals[own], other.face_normals[there.face])
    bulges = bulge_mm(contour, own, nodes) + bulge_mm(other, there.face, there.foot_mm)
    return np.asarray(there.distance_mm - np.maximum(facing, 0.0) * bulges)


def _within_faces(contour: Surface, other: Surface, counts: Flags, found: Gap) -> Gap:
    faces = _reachable(contour, other, counts, found.least_mm)
    if len(faces) == 0:
        return found
    nodes = _nodes(contour, faces).reshape(-1, 3)
    there = approach(other, nodes)
    best = int(np.argmin(there.distance_mm))
    return Gap(float(there.distance_mm[best]), nodes[best], there.foot_mm[best])


def _backward(contour: Surface, other: Surface, counts: Flags, bound_mm: float) -> Gap:
    """From the other surface's vertices to the contour; only feet on counted faces count."""
    near = other.vertices_mm[_box_distance(other.vertices_mm, contour) <= bound_mm]
    if len(near) == 0:
        return Gap(np.inf, np.zeros(3), np.zeros(3))
    here = approach(contour, near)
    distance = np.where(counts[here.face], here.distance_mm, np.inf)
    best = int(np.argmin(distance))
    return Gap(float(distance[best]), here.foot_mm[best], near[best])


def _lattice() -> NDArray[np.int64]:
    """(15, 3) barycentric numbers of the nodes of a twice cut triangle, each row adding up to 4."""
    return np.array([(i, j, _SIDES - i - j) for i in range(_SIDES + 1) for j in range(_SIDES + 1 - i)])


def _nodes(surface: Surface, faces: NDArray[np.int64]) -> Floats:
    """(f, 15, 3) nodes of the cut faces, mm."""
    corners = surface.vertices_mm[surface.faces[faces]]
    return np.asarray(np.einsum("nk,fkj->fnj", _lattice() / _SIDES, corners))


def _small_triangles() -> NDArray[np.int64]:
    """(16, 3) rows of the lattice that make the small triangles."""
    number = {(int(i), int(j)): row for row, (i, j, _) in enumerate(_lattice())}
    triangles = []
    for i, j in number:
        if (i + 1, j) in number and (i, j + 1) in number:
            triangles.append((number[i, j], number[i + 1, j], number[i, j + 1]))
        if (i + 1, j + 1) in number:
            triangles.append((number[i + 1, j], number[i + 1, j + 1], number[i, j + 1]))
    return np.array(triangles)
