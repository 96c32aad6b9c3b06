"""Trimming: the part of a surface where a value is at least 0, cut cleanly through the faces."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstbake.errors import BadMesh
from firstbake.mesh import Floats, Surface, loop_length_mm

_SMALLEST_PART = 0.05
_SPECK_MM = 1.5


def trimmed(surface: Surface, values: Floats) -> Surface:
    """The part of the surface where the value is at least 0; crossing faces are cut by linear interpolation.

    values : (n,) at the vertices
    raises : BadMesh when nothing stays
    """
    keep = values >= 0
    count = keep[surface.faces].sum(axis=1)
    if not (count > 0).any():
        raise BadMesh("nothing of the surface lies on the wanted side, so there is nothing to keep")
    if count.min() == 3:
        return surface
    one = _turned(surface.faces[count == 1], keep, wanted=True)
    two = _turned(surface.faces[count == 2], keep, wanted=False)
    crossing = np.vstack([one[:, [0, 1]], one[:, [0, 2]], two[:, [0, 1]], two[:, [0, 2]]])
    points, number = _crossings(surface, values, crossing)
    k, m = len(one), len(two)
    ab, ac, pq, pr = np.split(number, [k, 2 * k, 2 * k + m])
    faces = np.vstack(
        [
            surface.faces[count == 3],
            np.column_stack([one[:, 0], ab, ac]),
            np.column_stack([pq, two[:, 1], two[:, 2]]),
            np.column_stack([pq, two[:, 2], pr]),
        ]
    )
    return _compact(np.vstack([surface.vertices_mm, points]), faces.astype(np.int32))


def _turned(faces: NDArray[np.int32], keep: NDArray[np.bool_], *, wanted: bool) -> NDArray[np.int32]:
    """Faces turned so that the one corner that differs from the other two comes first."""
    first = np.argmax(keep[faces] == wanted, axis=1)
    rows = np.arange(len(faces))
    return np.column_stack([faces[rows, (first + shift) % 3] for shift in range(3)])


def _crossings(
    surface: Surface, values: Floats, pairs: NDArray[np.int32]
) -> tuple[Floats, NDArray[np.int64]]:
    """Points where the value is 0 on the edges, each edge once, and their vertex numbers per pair."""
    ordered = np.sort(pairs, axis=1).astype(np.int64)
    total = len(surface.vertices_mm)
    key, number = np.unique(ordered[:, 0] * total + ordered[:, 1], return_inverse=True)
    low, high = key // total, key % total
    part = values[low] / (values[low] - values[high])
    a, b = surface.vertices_mm[low], surface.vertices_mm[high]
    return a + part[:, None] * (b - a), number.ravel() + total


def _compact(vertices: Floats, faces: NDArray[np.int32]) -> Surface:
    used = np.zeros(len(vertices), dtype=np.bool_)
    used[faces.ravel()] = True
    number = np.cumsum(used) - 1
    return Surface(vertices[used], number[faces].astype(np.int32))


def whole(surface: Surface) -> Surface:
    """The surface without crumbs (under a twentieth of the largest part's area) and without specks.

    A speck is a hole with less than 1.5 mm of rim, left where the veneer is only micrometres thick.
    """
    surface = _without_crumbs(surface)
    specks = [loop for loop in surface.loops[1:] if loop_length_mm(surface, loop) < _SPECK_MM]
    points, faces, count = [surface.vertices_mm], [surface.faces], len(surface.vertices_mm)
    for loop in specks:
        points.append(surface.vertices_mm[loop].mean(axis=0)[None])
        faces.append(np.column_stack([np.roll(loop, -1), loop, np.full(len(loop), count)]).astype(np.int32))
        count += 1
    return Surface(np.vstack(points), np.vstack(faces)) if specks else surface


def _without_crumbs(surface: Surface) -> Surface:
    faces, count = surface.faces, len(surface.vertices_mm)
    links = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]]])
    graph = coo_array((np.ones(len(links), dtype=np.int8), (links[:, 0], links[:, 1])), shape=(count, count))
    found, labels = connected_components(graph, directed=False)
    if found == 1:
        return surface
    part = labels[faces[:, 0]]
    area = np.bincount(part, weights=surface.face_areas_mm2, minlength=found)
    stays = area >= _SMALLEST_PART * area.max()
    return _compact(surface.vertices_mm, faces[stays[part]])
