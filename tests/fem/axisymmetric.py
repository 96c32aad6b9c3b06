"""A disc bonded to a flat core as an axisymmetric problem: six-node triangles, apart from the package."""

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

# six Gauss points, exact to degree 4 (Dunavant 1985, from memory; checked by the volume in the test)
_A, _B = 0.445948490915965, 0.091576213509771
_PLACES = np.array([[1 - 2 * q if i == k else q for i in range(3)] for q in (_A, _B) for k in range(3)])
_WEIGHTS = np.array([0.223381589678011] * 3 + [0.109951743655322] * 3) / 2


def fired_disc(radius, thickness, *, green, end, counts, steps):
    """Nodes (n, 2) of radius and height after firing, and the green ones; mid-side nodes included."""
    nr, nz = counts
    r = radius * np.sin(np.linspace(0, np.pi / 2, nr + 1)) ** 0.8  # finer toward the rim
    z = np.linspace(0, thickness, nz + 1)
    points = np.stack(np.meshgrid(r, z, indexing="ij"), -1).reshape(-1, 2)
    at = lambda i, j: i * (nz + 1) + j  # noqa: E731
    i, j = (a.ravel() for a in np.meshgrid(np.arange(nr), np.arange(nz), indexing="ij"))
    triangles = np.vstack(
        [np.c_[at(i, j), at(i + 1, j), at(i + 1, j + 1)], np.c_[at(i, j), at(i + 1, j + 1), at(i, j + 1)]]
    )
    sides = np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    edges, number = np.unique(sides, axis=0, return_inverse=True)
    cells = np.hstack([triangles, len(points) + number.reshape(3, -1).T])
    x = np.vstack([points, points[edges].mean(axis=1)])
    held = np.column_stack([(x[:, 0] < 1e-9) | (x[:, 1] < 1e-9), x[:, 1] < 1e-9]).ravel()
    volumes, _ = _shape(x, cells)
    mass = volumes * green
    left = (1 - np.arange(steps + 1) / steps) ** 2
    places = x.copy()
    whole = np.log(mass.sum() / end / volumes.sum())

    def rate(y):
        v, shrink = _velocity(y, cells, mass, held)
        return v * (_shape(y, cells)[0].sum() / shrink)

    for stride in whole * (left[:-1] - left[1:]):
        places = places + stride * rate(places + 0.5 * stride * rate(places))
    return places, x


def _shape(x, cells):
    """(e, g) volumes over 2 pi and (e, g, 4, 12) rates: rr, zz, tt and rz (twice) of the twelve unknowns."""
    slope = np.array([[-1.0, -1.0], [1, 0], [0, 1]])
    value, slopes = np.empty((6, 6)), np.empty((6, 6, 2))
    for g, p in enumerate(_PLACES):
        value[g, :3] = p * (2 * p - 1)
        slopes[g, :3] = (4 * p - 1)[:, None] * slope
        for k, (a, b) in enumerate(((0, 1), (1, 2), (2, 0))):
            value[g, 3 + k] = 4 * p[a] * p[b]
            slopes[g, 3 + k] = 4 * (p[a] * slope[b] + p[b] * slope[a])
    jac = np.einsum("eai,gaj->egij", x[cells], slopes)
    det = np.linalg.det(jac)
    gradient = np.einsum("gaj,egji->egai", slopes, np.linalg.inv(jac))
    radius = np.einsum("ea,ga->eg", x[cells][:, :, 0], value)
    rates = np.zeros((*det.shape, 4, 12))
    rates[..., 0, 0::2] = gradient[..., 0]
    rates[..., 1, 1::2] = gradient[..., 1]
    rates[..., 2, 0::2] = value[None] / radius[..., None]
    rates[..., 3, 0::2], rates[..., 3, 1::2] = gradient[..., 1], gradient[..., 0]
    return det * _WEIGHTS * radius, rates


def _velocity(x, cells, mass, held):
    volumes, rates = _shape(x, cells)
    th = np.clip(1 - mass / volumes, 1e-4, 0.9)
    phi, bulk = (1 - th) ** 2, (1 - th) ** 3 / th
    trace = rates[..., :3, :].sum(axis=-2)
    metric = np.array([1.0, 1.0, 1.0, 0.5])
    dots = np.einsum("egka,k,egkb->egab", rates, metric, rates)
    twin = trace[..., :, None] * trace[..., None, :]
    shear, bulk = 1.5 * phi * volumes, bulk * volumes
    matrices = (shear[..., None, None] * (dots - twin / 3) + bulk[..., None, None] * twin).sum(axis=1)
    unknown = (2 * cells[:, :, None] + np.arange(2)).reshape(len(cells), 12)
    right = -np.bincount(
        unknown.ravel(), ((volumes * phi)[..., None] * trace).sum(1).ravel(), minlength=2 * len(x)
    )
    rows, columns = np.repeat(unknown, 12, axis=1).ravel(), np.tile(unknown, (1, 12)).ravel()
    matrix = csc_array((matrices.ravel(), (rows, columns)), shape=(2 * len(x),) * 2)
    free = np.flatnonzero(~held)
    v = np.zeros(2 * len(x))
    v[free] = splu(csc_array(matrix[free][:, free])).solve(right[free])
    shrink = (volumes[..., None] * trace * v[unknown][:, None, :]).sum()
    return v.reshape(-1, 2), shrink
