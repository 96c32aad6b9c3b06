"""Joining corners and dropping faces that carry nothing."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from firstbake.mesh.surface import Floats, Ints

_TOLERANCE = 1e-6  # of the largest extent; relative, so that the unit of the file does not matter


def weld(vertices: Floats, faces: NDArray[np.integer]) -> tuple[Floats, Ints, int]:
    """Join vertices that lie together, within 1e-6 of the largest extent.

    vertices, faces : (n, 3) and (m, 3)
    returns         : the vertices that stay (first of each group, in their old order), the faces over
                      them, and how many vertices were joined away
    """
    extent = float((vertices.max(axis=0) - vertices.min(axis=0)).max())
    one, group = identical(vertices)
    pairs = cKDTree(vertices[one]).query_pairs(_TOLERANCE * extent, output_type="ndarray")
    if len(pairs):
        graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(one), len(one)))
        _, label = connected_components(graph, directed=False)
        _, first, again = np.unique(label, return_index=True, return_inverse=True)
        order = np.argsort(first)
        rank = np.empty_like(order)
        rank[order] = np.arange(len(order))
        one, group = one[first[order]], rank[again][group]
    return vertices[one], group[faces].astype(np.int32), len(vertices) - len(one)


def identical(vertices: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Groups of identical vertices.

    vertices : (n, 3)
    returns  : (g,) first vertex of each group, ascending; (n,) group of each vertex
    """
    order = np.lexsort((vertices[:, 2], vertices[:, 1], vertices[:, 0]))
    placed = vertices[order]
    new = np.ones(len(order), dtype=bool)
    new[1:] = (placed[1:] != placed[:-1]).any(axis=1)
    first = np.minimum.reduceat(order, np.flatnonzero(new))
    one = np.sort(first)
    group = np.empty(len(order), dtype=np.int64)
    group[order] = np.searchsorted(one, first)[np.cumsum(new) - 1]
    return one, group


def used_vertices(vertices: Floats, faces: Ints) -> tuple[Floats, Ints]:
    """The vertices that faces use, in their old order, and the faces over them."""
    used = np.zeros(len(vertices), dtype=bool)
    used[faces] = True
    number = np.cumsum(used) - 1
    return vertices[used], number[faces].astype(np.int32)


def distinct(faces: Ints) -> NDArray[np.bool_]:
    """(m,) False for faces that name a vertex twice."""
    a, b, c = faces.T
    return np.asarray((a != b) & (b != c) & (c != a))


def first_of_doubles(faces: Ints) -> NDArray[np.bool_]:
    """(m,) False for faces over the same three vertices as an earlier face, whichever way they turn."""
    corners = np.sort(faces, axis=1)
    order = np.lexsort((corners[:, 2], corners[:, 1], corners[:, 0]))
    placed = corners[order]
    keep = np.ones(len(faces), dtype=bool)
    keep[order[1:]] = (placed[1:] != placed[:-1]).any(axis=1)
    return keep


def edge_use(faces: Ints) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(m, 3) number of the edge from corner k to corner k + 1, and (edges,) how many faces use it."""
    edges = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1).astype(np.int64)
    _, number, count = np.unique(
        edges[:, 0] * (int(faces.max()) + 1) + edges[:, 1], return_inverse=True, return_counts=True
    )
    return number.reshape(-1, 3), count


def idle_slivers(vertices: Floats, faces: Ints) -> NDArray[np.bool_]:
    """(m,) True for faces without area that can go without opening the surface.

    A sliver between two neighbours stays: without it the surface would have a slit.
    """
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    sides = np.stack([b - a, c - b, a - c])
    longest = np.linalg.norm(sides, axis=2).max(axis=0)
    flat = np.linalg.norm(np.cross(sides[0], sides[1]), axis=1) <= 1e-12 * longest**2
    number, count = edge_use(faces)
    use = count[number]
    return np.asarray(flat & ((use > 2).any(axis=1) | ((use == 1).sum(axis=1) >= 2)))
