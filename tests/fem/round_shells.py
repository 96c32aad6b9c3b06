"""Shells on a rigid ball or rod as one-dimensional problems, solved apart from the package."""

import numpy as np
from scipy.linalg import solveh_banded


def fired_radius(inner, outer, *, green, end, turns, cells, steps):
    """Outer radius after firing. turns : 2 for a ball, 1 for a rod in plane strain.

    Linear elements along the radius in the material frame, two Gauss points each, midpoint steps in ln
    volume.
    The law is written out here again: G = 0.75 phi, K = (1 - th)^3 / th, P = phi, phi = (1 - th)^2.
    """
    r = np.linspace(inner, outer, cells + 1)
    power = turns + 1
    volume = lambda x: (x[1:] ** power - x[:-1] ** power) / power  # noqa: E731
    mass = volume(r) * green

    def rate(r):
        whole = volume(r)
        th = 1 - mass / whole
        phi, bulk = (1 - th) ** 2, (1 - th) ** 3 / th
        shear = 0.75 * phi
        middle, length = (r[1:] + r[:-1]) / 2, np.diff(r)
        band, right = np.zeros((2, cells + 1)), np.zeros(cells + 1)
        for xi in (-1 / np.sqrt(3), 1 / np.sqrt(3)):
            x = middle + xi * length / 2
            w = x**turns * length / 2
            along = (-1 / length, 1 / length)
            around = ((1 - xi) / 2 / x, (1 + xi) / 2 / x)
            trace = [along[a] + turns * around[a] for a in (0, 1)]
            for a in (0, 1):
                right[a : cells + a] -= w * phi * trace[a]
                for b in range(a, 2):
                    dots = along[a] * along[b] + turns * around[a] * around[b]
                    k = w * (2 * shear * (dots - trace[a] * trace[b] / 3) + bulk * trace[a] * trace[b])
                    if a == b:
                        band[1, a : cells + a] += k
                    else:
                        band[0, 1 : cells + 1] += k
        v = np.zeros(cells + 1)
        v[1:] = solveh_banded(band[:, 1:], right[1:])
        shrink = r[-1] ** turns * v[-1]
        return v * whole.sum() / shrink

    stride = np.log(mass.sum() / end / volume(r).sum()) / steps
    for _ in range(steps):
        r = r + stride * rate(r + 0.5 * stride * rate(r))
    return float(r[-1])


def sure_radius(inner, outer, *, green, end, turns):
    """fired_radius with its error held: doubling cells and steps moves the answer by less than 0.1 um."""
    coarse = fired_radius(inner, outer, green=green, end=end, turns=turns, cells=300, steps=64)
    fine = fired_radius(inner, outer, green=green, end=end, turns=turns, cells=600, steps=128)
    assert abs(fine - coarse) < 1e-4
    return fine
