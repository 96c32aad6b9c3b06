"""Expected colour difference when no layer comes out quite as thick as planned."""

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import LAYERING_MM, delta_e00

Floats = NDArray[np.float64]

# Even number of nodes each way, so that none sits on the tip of the cone where the difference is 0.
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(4)
_POINTS = np.stack(np.meshgrid(_NODES, _NODES, _NODES, indexing="ij"), axis=-1).reshape(-1, 3)
_WEIGHTS = np.prod(
    np.stack(np.meshgrid(_NODE_WEIGHTS, _NODE_WEIGHTS, _NODE_WEIGHTS, indexing="ij"), axis=-1), axis=-1
).ravel()
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
_NONE_MM = 1e-6


def scatter_of(places_mm: Floats, places_slope: Floats, *, sigma_mm: float = LAYERING_MM) -> Floats:
    """(p, 3, 3) covariance of CIELAB when each inner boundary moves by sigma_mm, the outer form fixed.

    places_mm : (p, m) from the bottom up, 0 where there is no layer     places_slope : (p, m, 3), 1/mm
    A boundary lies between each layer and the next one above it; moving it gives to one what it takes from
    the other.
    """
    p, m, _ = places_slope.shape
    covariance = np.zeros((p, 3, 3))
    below = np.zeros((p, 3))
    laid = np.zeros(p, dtype=np.bool_)
    for j in range(m):
        here = places_mm[:, j] > _NONE_MM
        shift = np.where((here & laid)[:, None], below - places_slope[:, j], 0.0)
        covariance += shift[:, :, None] * shift[:, None, :]
        below = np.where(here[:, None], places_slope[:, j], below)
        laid = laid | here
    return covariance * sigma_mm**2


def expected_difference(lab: Floats, targets: Floats, covariance: Floats) -> Floats:
    """(p,) mean CIEDE2000 to the target over a normal scatter of CIELAB.

    lab, targets : (p, 3)      covariance : (p, 3, 3)
    method : Gauss-Hermite quadrature, 4 nodes along each main axis of the scatter
    """
    spread, axes = np.linalg.eigh(covariance)
    root = axes * np.sqrt(np.maximum(spread, 0.0))[:, None, :]
    points = lab[:, None] + np.einsum("pij,nj->pni", root, _POINTS)
    return np.asarray(delta_e00(points, targets[:, None]) @ _WEIGHTS)
