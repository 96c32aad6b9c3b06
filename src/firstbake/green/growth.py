"""Volume that a contour sweeps when it is moved, and the factor that closes the mass balance."""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from firstbake.errors import BadSum
from firstbake.mesh import Floats, Surface

_LEAST, _MOST = 0.2, 5.0


def swept_volume_mm3(surface: Surface, shift_mm: Floats) -> float:
    """Volume between a surface and the same surface moved by shift_mm (n, 3), mm³, outward counted positive.

    Exact for the triangles (divergence theorem); at a free edge the ruled band between old and new closes it.
    """
    origin = surface.vertices_mm.mean(axis=0)
    old, new = surface.vertices_mm - origin, surface.vertices_mm + shift_mm - origin
    volume = _six_volumes(new, surface.faces) - _six_volumes(old, surface.faces)
    for loop in surface.loops:
        a, b = loop, np.roll(loop, -1)
        volume += _triple(old[a], old[b], new[b]) + _triple(old[a], new[b], new[a])
    return volume / 6


def _six_volumes(points: Floats, faces: NDArray[np.int32]) -> float:
    return _triple(points[faces[:, 0]], points[faces[:, 1]], points[faces[:, 2]])


def _triple(a: Floats, b: Floats, c: Floats) -> float:
    return float(np.einsum("ij,ij->", a, np.cross(b, c)))


def closing_factor(surface: Surface, shift_mm: Floats, target_mm3: float) -> float:
    """The one number that scales shift_mm so that the surface sweeps target_mm3.

    Column laws treat each column alone; where the feet of neighbouring columns crowd or fan out more than
    the averaged curvature says, their volumes do not add up to the volume of the meshes. This factor spreads
    that remainder evenly over the growth. It makes the total mass right, not each place; its distance
    from 1 is a measure of how rough the column law is for this crown.

    shift_mm : (n, 3) growth as the columns give it, mm
    raises   : BadSum when no factor between 0.2 and 5 closes the balance
    """

    def miss(factor: float) -> float:
        return swept_volume_mm3(surface, factor * shift_mm) - target_mm3

    if abs(target_mm3) < 1e-12 and not shift_mm.any():
        return 1.0
    if miss(_LEAST) * miss(_MOST) > 0:
        raise BadSum(
            f"the green shape cannot take up the {target_mm3:.2f} mm3 of growth that the powders need; "
            "check that contour and core belong together and that the layers fill the room"
        )
    return float(brentq(miss, _LEAST, _MOST, xtol=1e-15, rtol=1e-14))
