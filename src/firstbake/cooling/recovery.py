"""Values of tetrahedra carried to nodes, on the surface too."""

import numpy as np
from scipy.sparse import csr_array

from firstbake.fem import Index
from firstbake.mesh import Floats

_LEAST, _LEAST_BENT = 8, 25  # tetrahedra about a node for slopes and for curvature; with fewer their mean
_RIDGE, _BENT = 0.005, 0.02  # keeps a fit through badly spread middles from running away (chosen by trial)


def at_nodes(points_mm: Floats, tets: Index, volumes_mm3: Floats) -> csr_array:
    """(n, e) carries values of tetrahedra (e,) to the nodes they use, n the highest of them and one.

    Each node takes the value there of a quadratic fitted by least squares to the tetrahedra that touch it or
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
    x, y, z = away.T
    basis = np.column_stack([np.ones(len(away)), away, x * x, y * y, z * z, x * y, y * z, z * x])
    values = weight * _fit_at_origin(basis, weight, rows, count=count)
    return csr_array((values, columns, patch.indptr), shape=(count, cells))


def corner_means(tets: Index, volumes_mm3: Floats) -> csr_array:
    """(n, 4e) mean over the corners that meet in each node, by volume of their tetrahedra."""
    count = int(tets.max()) + 1
    weight = np.repeat(volumes_mm3, 4)
    total = np.bincount(tets.ravel(), weight, minlength=count)
    shape = (count, tets.size)
    return csr_array((weight / total[tets.ravel()], (tets.ravel(), np.arange(tets.size))), shape=shape)


def _fit_at_origin(basis: Floats, weight: Floats, rows: Index, *, count: int) -> Floats:
    """(k,) what each value counts, over its weight, in the weighted fit of its row at the origin."""
    width = basis.shape[1]
    normal = np.empty((count, width, width))
    for i in range(width):
        for j in range(i, width):
            normal[:, i, j] = np.bincount(rows, weight * basis[:, i] * basis[:, j], minlength=count)
            normal[:, j, i] = normal[:, i, j]
    whole = np.maximum(normal[:, 0, 0], 1e-30)
    number = np.bincount(rows, minlength=count)
    ridge = np.where(number[:, None] < [_LEAST] * 3 + [_LEAST_BENT] * 6, 1e6, [_RIDGE] * 3 + [_BENT] * 6)
    normal[:, range(1, width), range(1, width)] += ridge * whole[:, None]
    normal[normal[:, 0, 0] <= 0] = np.eye(width)
    first = np.linalg.solve(normal, np.broadcast_to(np.eye(width)[:, :1], (count, width, 1)))[:, :, 0]
    return np.asarray(np.einsum("kj,kj->k", basis, first[rows]))
