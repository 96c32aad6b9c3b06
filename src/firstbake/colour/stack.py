"""A stack of layers over a lower end, wavelength by wavelength, with its exact slope in every thickness."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.colour.faces import across, across_slope
from firstbake.colour.layers import growth, layer, over, over_slope
from firstbake.colour.spectrum import on_grid
from firstbake.powder import Optics

Floats = NDArray[np.float64]

_SAME_INDEX = 1e-9


@dataclass(frozen=True, eq=False)
class LowerEnd:
    """What the lowest layer lies on.

    reflectance : (w,) internal reflectance of it, on its own side of the face, unit 1
    index       : its refractive index; 1 for a free face over a hollow; None when it has no body of its own
                  (bare metal), so that there is no face to cross
    """

    reflectance: Floats
    index: float | None


@dataclass(frozen=True, eq=False)
class Stack:
    """m layers from the bottom up over a lower end, w wavelengths.

    absorption_per_mm, scattering_per_mm : (m, w)     index : m refractive indices
    A face is crossed wherever neighbours differ in index.
    """

    absorption_per_mm: Floats
    scattering_per_mm: Floats
    index: tuple[float, ...]
    end: LowerEnd


def stack_of(optics: Sequence[Optics], end: LowerEnd) -> Stack:
    """Stack of these optics from the bottom up, brought to the grid of this room (31 wavelengths)."""
    absorption = [on_grid(o.wavelength_nm, o.absorption_per_mm, what="absorption") for o in optics]
    scattering = [on_grid(o.wavelength_nm, o.scattering_per_mm, what="scattering") for o in optics]
    return Stack(
        np.maximum(np.array(absorption), 0.0),
        np.maximum(np.array(scattering), 0.0),
        tuple(o.index for o in optics),
        end,
    )


def reflectance_within(stack: Stack, thickness_mm: ArrayLike) -> Floats:
    """(..., w) internal reflectance just under the outer face.

    thickness_mm : (..., m) of each layer from the bottom up, at least 0; leading axes are points
    """
    thickness = np.asarray(thickness_mm, dtype=np.float64)
    seen = stack.end.reflectance
    below = stack.end.index
    for j, index in enumerate(stack.index):
        if _crosses(below, index):
            seen = across(seen, index_beneath=float(below or index), index_above=index)
        r, t = _layer(stack, j, thickness)
        seen = over(r, t, seen)
        below = index
    return np.broadcast_to(seen, (*thickness.shape[:-1], seen.shape[-1])).copy()


def reflectance_slope(stack: Stack, thickness_mm: ArrayLike) -> Floats:
    """(..., m, w) exact derivative of reflectance_within() in each thickness, 1/mm.

    formula : growth of the reflectance on top of layer j, times the slope of every layer and face above it
    """
    thickness = np.asarray(thickness_mm, dtype=np.float64)
    shape = thickness.shape[:-1]
    seen = stack.end.reflectance
    below = stack.end.index
    slopes: list[Floats] = []
    for j, index in enumerate(stack.index):
        if _crosses(below, index):
            factor = across_slope(seen, index_beneath=float(below or index), index_above=index)
            slopes = [s * factor for s in slopes]
            seen = across(seen, index_beneath=float(below or index), index_above=index)
        r, t = _layer(stack, j, thickness)
        factor = over_slope(r, t, seen)
        seen = over(r, t, seen)
        slopes = [s * factor for s in slopes]
        slopes.append(growth(stack.absorption_per_mm[j], stack.scattering_per_mm[j], seen))
        below = index
    full = (*shape, stack.absorption_per_mm.shape[1])
    return np.stack([np.broadcast_to(s, full) for s in slopes], axis=-2)


def _crosses(below: float | None, above: float) -> bool:
    return below is not None and abs(below - above) > _SAME_INDEX


def _layer(stack: Stack, j: int, thickness: Floats) -> tuple[Floats, Floats]:
    return layer(stack.absorption_per_mm[j], stack.scattering_per_mm[j], thickness[..., j, None])
