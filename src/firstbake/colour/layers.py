"""One layer between two diffuse fluxes, and layers on top of each other.

The two-flux equations of Kubelka & Munk (1931) in a form without a division by S and without the difference
of near-equal numbers that breaks the usual a, b form: with k = sqrt(K (K + 2S)), x = k d and t = tanh(x) / k,

    R = S t / (1 + (K + S) t)          T = sech(x) / (1 + (K + S) t)

which follows from R = S sinh / (k cosh + (K + S) sinh), T = k / (k cosh + (K + S) sinh) (Kubelka 1948,
J Opt Soc Am 38:448; from memory, unverified) by dividing through by k cosh. All reflectances here are seen
from inside the ceramic; the faces are in colour.faces.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

_SERIES_BELOW = 1e-4


def layer(
    absorption_per_mm: ArrayLike, scattering_per_mm: ArrayLike, thickness_mm: ArrayLike
) -> tuple[Floats, Floats]:
    """Reflectance and transmittance of one layer without faces, unit 1.

    absorption_per_mm, scattering_per_mm, thickness_mm : at least 0, finite, broadcast against each other
    returns : R and T of the broadcast shape. K = 0, S = 0 and d = 0 are ordinary values
    """
    k = np.asarray(absorption_per_mm, dtype=np.float64)
    s = np.asarray(scattering_per_mm, dtype=np.float64)
    d = np.asarray(thickness_mm, dtype=np.float64)
    rate = np.sqrt(k) * np.sqrt(k + 2.0 * s)
    x = rate * d
    small = x < _SERIES_BELOW
    path = np.where(small, d * (1.0 - x * x / 3.0), np.tanh(x) / np.where(small, 1.0, rate))
    fade = np.exp(-x)
    below = 1.0 + (k + s) * path
    return np.asarray(s * path / below), np.asarray(2.0 * fade / (1.0 + fade * fade) / below)


def thick_reflectance(absorption_per_mm: ArrayLike, scattering_per_mm: ArrayLike) -> Floats:
    """Reflectance of an endlessly thick layer without a face, unit 1; 0 where nothing scatters.

    formula : R = S / (K + S + sqrt(K (K + 2S))), the stable form of 1 + K/S - sqrt((K/S)^2 + 2K/S)
    """
    k = np.asarray(absorption_per_mm, dtype=np.float64)
    s = np.asarray(scattering_per_mm, dtype=np.float64)
    total = k + s + np.sqrt(k) * np.sqrt(k + 2.0 * s)
    return np.asarray(np.divide(s, total, out=np.zeros_like(total), where=total > 0))


def over(reflectance: ArrayLike, transmittance: ArrayLike, beneath: ArrayLike) -> Floats:
    """Reflectance of a layer with something of reflectance `beneath` under it, unit 1, broadcast.

    formula : R + T^2 Rg / (1 - R Rg), the sum of the to-and-fro between both (Kubelka 1954, J Opt Soc Am
              44:330; from memory, unverified)
    """
    r = np.asarray(reflectance, dtype=np.float64)
    t = np.asarray(transmittance, dtype=np.float64)
    g = np.asarray(beneath, dtype=np.float64)
    return np.asarray(r + t * t * g / (1.0 - r * g))


def over_slope(reflectance: ArrayLike, transmittance: ArrayLike, beneath: ArrayLike) -> Floats:
    """Derivative of over() with respect to `beneath`, unit 1: T^2 / (1 - R Rg)^2."""
    r = np.asarray(reflectance, dtype=np.float64)
    t = np.asarray(transmittance, dtype=np.float64)
    g = np.asarray(beneath, dtype=np.float64)
    return np.asarray((t / (1.0 - r * g)) ** 2)


def growth(absorption_per_mm: ArrayLike, scattering_per_mm: ArrayLike, reflectance: ArrayLike) -> Floats:
    """Change of the reflectance on top of a layer with its thickness, 1/mm: S - 2 (K + S) r + S r^2.

    reflectance : on top of the layer, over whatever lies beneath
    source      : the differential equation of Kubelka & Munk (1931)
    """
    k = np.asarray(absorption_per_mm, dtype=np.float64)
    s = np.asarray(scattering_per_mm, dtype=np.float64)
    r = np.asarray(reflectance, dtype=np.float64)
    return np.asarray(s - 2.0 * (k + s) * r + s * r * r)
