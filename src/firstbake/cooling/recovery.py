"""Values of tetrahedra carried to nodes, on the surface too."""

import numpy as np
from scipy.sparse import csr_array

from firstbake.fem import Index
from firstbake.mesh import Floats

_LEAST = 8  # tetrahedra about a node for a plane through their values; with fewer their mean
_RIDGE = 0.02  # keeps a plane through badly spread middles from running away (chosen by trial)


def at_nodes(points_mm: Floats, tets: Index, volumes_mm3: Floats) -> csr_array:
    """(n, e) carries values of tetrahedra (e,) to the nodes they use, n the highest of them and one.

    Each node takes the value there of a plane laid by least squares through the tetrahedra that touch it or
    its neighbours, weighted by volume and nearness: a mean alone would give the surface what lies under it.
    source : patch recovery, Zienkiewicz and Zhu 1992, Int. J. Numer. Meth. Eng. 33, 1331-1364 (from memory,
             unverified)
    """
    count, cells = int(tets.max()) + 1, len(tets)
    ones = np.ones(tets.size)
    touch = csr_array((ones, (tets.ravel(), np.repeat(np.arange(cells), 4))), shape=(count, cells))
    patch = csr_array((touch @ touch.T) @ touch)
    patch.sort_indices()
    rows = np.repeat(np.arange(count), np.diff(patch.indptr))
    columns = patch.indices
    middles = points_mm[tets].mean(axis=1)
    away = middles[columns] - points_mm[rows]
    square = np.einsum("ij,ij->i", away, away)
    number = np.maximum(np.bincount(rows, minlength=count), 1)
    reach = np.sqrt(np.bincount(rows, square, minlength=count) / number)
    away /= np.maximum(reach[rows], 1e-12)[:, None]
    weight = volumes_mm3[columns] * np.exp(-(away**2).sum(axis=1))
    basis = np.column_stack([np.ones(len(away)), away])
    values = weight * _plane_at_origin(basis, weight, rows, count=count)
    return csr_array((values, columns, patch.indptr), shape=(count, cells))


def _plane_at_origin(basis: Floats, weight: Floats, rows: Index, *, count: int) -> Floats:
    """(k,) what each value counts, over its weight, in the weighted plane of its row at the origin."""
    normal = np.empty((count, 4, 4))
    for i in range(4):
        for j in range(4):
            normal[:, i, j] = np.bincount(rows, weight * basis[:, i] * basis[:, j], minlength=count)
    whole = normal[:, 0, 0].copy()
    few = np.bincount(rows, minlength=count) < _LEAST
    ridge = np.where(few, 1e6, _RIDGE) * np.maximum(whole, 1e-30)
    for k in range(1, 4):
        normal[:, k, k] += ridge
    normal[whole <= 0] = np.eye(4)
    first = np.linalg.solve(normal, np.broadcast_to(np.eye(4)[:, :1], (count, 4, 1)))[:, :, 0]
    return np.asarray(np.einsum("kj,kj->k", basis, first[rows]))
