"""Tetrahedra: volumes, quality, gradients, edges, outer faces, parts."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from firstbake.mesh import Floats

Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

EDGES = np.array([[0, 1], [0, 2], [0, 3], [1, 2], [1, 3], [2, 3]])
FACES = np.array(
    [[1, 2, 3], [0, 3, 2], [0, 1, 3], [0, 2, 1]]
)  # face k lies opposite corner k, seen from outside


def volumes_mm3(points_mm: Floats, tets: Index) -> Floats:
    """(e,) signed volumes of the tetrahedra (e, 4) over points (n, 3), mm³."""
    one, two, three = _legs(points_mm, tets)
    return np.asarray(_dot(one, _cross(two, three)) / 6)


def _legs(points_mm: Floats, tets: Index) -> tuple[Floats, Floats, Floats]:
    """(3, e) from the first corner to each of the others."""
    across = np.ascontiguousarray(points_mm.T)
    first, *others = (across[:, tets[:, k]] for k in range(4))
    one, two, three = (other - first for other in others)
    return one, two, three


def _cross(one: Floats, two: Floats) -> Floats:
    found = np.empty_like(one)
    for k in range(3):
        i, j = (k + 1) % 3, (k + 2) % 3
        np.multiply(one[i], two[j], out=found[k])
        found[k] -= one[j] * two[i]
    return found


def _dot(one: Floats, two: Floats) -> Floats:
    return np.asarray(one[0] * two[0] + one[1] * two[1] + one[2] * two[2])


def quality(points_mm: Floats, tets: Index) -> Floats:
    """(e,) 12 (3V)^(2/3) / sum of squared edges; 1 regular, 0 flat or inverted.

    source : mean-ratio measure, Liu and Joe 1994, BIT 34, 268-287 (from memory, unverified)
    """
    edges = points_mm[tets[:, EDGES[:, 0]]] - points_mm[tets[:, EDGES[:, 1]]]
    volume = np.maximum(volumes_mm3(points_mm, tets), 0.0)
    return np.asarray(12 * np.cbrt(3 * volume) ** 2 / np.einsum("eij,eij->e", edges, edges))


def volumes_and_gradients(points_mm: Floats, tets: Index) -> tuple[Floats, Floats]:
    """(e,) volumes, mm³, and (e, 4, 3) gradients of the linear shape functions, 1/mm."""
    one, two, three = _legs(points_mm, tets)
    gradient = np.empty((4, 3, len(tets)))
    gradient[1], gradient[2], gradient[3] = _cross(two, three), _cross(three, one), _cross(one, two)
    six = _dot(one, gradient[1])
    gradient[1:] /= six
    gradient[0] = -gradient[1:].sum(axis=0)
    return six / 6, gradient.transpose(2, 0, 1)


def oriented(points_mm: Floats, tets: Index) -> Index:
    """The tetrahedra with corners swapped where their volume was negative."""
    turned = np.array(tets)
    wrong = volumes_mm3(points_mm, tets) < 0
    turned[wrong, 2], turned[wrong, 3] = tets[wrong, 3], tets[wrong, 2]
    return turned


def compacted(points_mm: Floats, tets: Index) -> tuple[Floats, Index, Index]:
    """Points in use, renumbered tetrahedra, and (n,) old numbers of the points in use."""
    used = np.unique(tets)
    new = np.full(len(points_mm), -1, dtype=np.int64)
    new[used] = np.arange(len(used))
    return points_mm[used], new[tets], used


def edge_table(tets: Index) -> tuple[Index, Index]:
    """(k, 2) edges in ascending order, and (e, 6) edge of each tetrahedron's side in the order of EDGES."""
    ends = np.sort(tets[:, EDGES].reshape(-1, 2), axis=1).astype(np.int64)
    span = np.int64(tets.max() + 1)
    keys, place = np.unique(ends[:, 0] * span + ends[:, 1], return_inverse=True)
    return np.column_stack([keys // span, keys % span]), place.reshape(-1, 6)


def outer_faces(tets: Index) -> tuple[Index, Index]:
    """(f, 3) faces of one tetrahedron only, anticlockwise seen from outside, and (f,) that tetrahedron."""
    faces = tets[:, FACES].reshape(-1, 3)
    ordered = np.sort(faces, axis=1).astype(np.int64)
    span = np.int64(tets.max() + 1)
    keys = (ordered[:, 0] * span + ordered[:, 1]) * span + ordered[:, 2]
    _, first, count = np.unique(keys, return_index=True, return_counts=True)
    single = np.sort(first[count == 1])
    return faces[single], single // 4


def parts_of(tets: Index) -> Index:
    """(e,) number of the part that each tetrahedron belongs to, joined through shared faces."""
    faces = np.sort(tets[:, FACES].reshape(-1, 3), axis=1).astype(np.int64)
    span = np.int64(tets.max() + 1)
    keys = (faces[:, 0] * span + faces[:, 1]) * span + faces[:, 2]
    order = np.argsort(keys, kind="stable")
    twin = np.flatnonzero(keys[order][1:] == keys[order][:-1])
    left, right = order[twin] // 4, order[twin + 1] // 4
    joined = csr_array((np.ones(len(left)), (left, right)), shape=(len(tets), len(tets)))
    return np.asarray(connected_components(joined, directed=False)[1], dtype=np.int64)
