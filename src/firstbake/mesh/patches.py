"""Connected patches of a surface."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstbake.errors import BadMesh
from firstbake.mesh.surface import Ints, Surface


def vertex_components(surface: Surface, mask: NDArray[np.bool_]) -> NDArray[np.int32]:
    """Patches of marked vertices, joined along the edges of the mesh.

    mask    : (n,) True for the vertices that count
    returns : (n,) 0 for the patch of greatest area, 1 for the next, and so on; -1 where mask is False
    raises  : BadMesh when mask has another length than the vertices
    """
    marked = np.asarray(mask, dtype=bool)
    count = len(surface.vertices_mm)
    if marked.shape != (count,):
        raise BadMesh(f"a vertex mask needs shape ({count},), got {marked.shape}")
    labels = np.full(count, -1, dtype=np.int32)
    if not marked.any():
        return labels
    edges = edges_of(surface.faces)
    found, raw = _joined(edges[marked[edges].all(axis=1)], count)
    area = np.bincount(raw[marked], weights=surface.vertex_areas_mm2[marked], minlength=found)
    present = np.bincount(raw[marked], minlength=found) > 0
    order = np.lexsort((np.arange(found), -area, ~present))
    rank = np.empty(found, dtype=np.int32)
    rank[order] = np.arange(found, dtype=np.int32)
    labels[marked] = rank[raw[marked]]
    return labels


def face_components(faces: NDArray[np.int32], vertex_count: int) -> NDArray[np.int32]:
    """(m,) number of the body that each face belongs to; faces that share a vertex are one body.

    Bodies are numbered 0, 1, ... in the order of their first face.
    """
    _, raw = _joined(edges_of(faces), vertex_count)
    _, first, number = np.unique(raw[faces[:, 0]], return_index=True, return_inverse=True)
    rank = np.empty(len(first), dtype=np.int32)
    rank[np.argsort(first)] = np.arange(len(first), dtype=np.int32)
    return rank[number]


def edges_of(faces: NDArray[np.int32]) -> Ints:
    """(k, 2) every edge once, lower vertex number first."""
    edges = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1).astype(np.int64)
    width = int(faces.max()) + 1
    key = np.sort(edges[:, 0] * width + edges[:, 1])  # np.unique hashes, 20 times slower on such keys
    key = key[np.concatenate([[True], key[1:] != key[:-1]])]
    return np.column_stack([key // width, key % width]).astype(np.int32)


def sub_surface(surface: Surface, keep: NDArray[np.bool_]) -> tuple[Surface, NDArray[np.int32]]:
    """Part of a surface, without the vertices that no face needs any more.

    keep    : (m,) True for the faces that stay
    returns : the part, and (k,) the number each of its vertices had before
    raises  : BadMesh when no face stays
    """
    faces = surface.faces[np.asarray(keep, dtype=bool)]
    old, new = np.unique(faces, return_inverse=True)
    part = Surface(surface.vertices_mm[old], new.reshape(-1, 3).astype(np.int32))
    return part, old.astype(np.int32)


def _joined(edges: NDArray[np.int32], count: int) -> tuple[int, NDArray[np.int32]]:
    graph = coo_array((np.ones(len(edges), dtype=np.int8), (edges[:, 0], edges[:, 1])), shape=(count, count))
    found, labels = connected_components(graph, directed=False)
    return int(found), labels
