"""Smooth steps and smooth greater-of-two, the seams of the cut-back."""

import numpy as np

from firstbake.mesh import Floats


def smooth_step(share: Floats) -> Floats:
    """0 below 0, 1 above 1, between them 6t^5 - 15t^4 + 10t^3, slopes 0 at both ends."""
    t = np.clip(share, 0.0, 1.0)
    return np.asarray(t * t * t * (t * (t * 6.0 - 15.0) + 10.0))


def greater_of(a: Floats, b: Floats, reach_mm: float) -> Floats:
    """The greater of a and b, rounded up by at most reach_mm/6 where they differ by less than reach_mm.

    With h = max(reach - |a - b|, 0) / reach the seam adds h^3 reach/6, which is smooth to the second slope.
    reach_mm 0 gives the plain maximum.
    """
    plain = np.maximum(a, b)
    if reach_mm <= 0:
        return np.asarray(plain)
    h = np.maximum(reach_mm - np.abs(a - b), 0.0) / reach_mm
    return np.asarray(plain + h * h * h * (reach_mm / 6.0))


def lesser_of(a: Floats, b: Floats, reach_mm: float) -> Floats:
    """The lesser of a and b with a rounded seam up to reach_mm/6 lower; see greater_of."""
    return -greater_of(-a, -b, reach_mm)
