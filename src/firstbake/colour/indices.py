"""Single numbers about a colour: what shines through, how white, how much a match depends on the light."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.colour.difference import delta_e00
from firstbake.colour.observer import metameric_difference, xyz_from_lab

Floats = NDArray[np.float64]

#: Lights a match is tried under besides daylight.
TEST_LIGHTS = ("A", "F11", "LED-B3")


def translucency(on_black: ArrayLike, on_white: ArrayLike) -> Floats:
    """Translucency parameter TP: CIELAB 1976 difference of one body on black and on white, unit 1.

    on_black, on_white : (..., 3) CIELAB of the same body, same contact
    source : Johnston, Ma & Kienle 1995, Int J Prosthodont 8:79 (from memory, unverified)
    """
    step = np.asarray(on_white, dtype=np.float64) - np.asarray(on_black, dtype=np.float64)
    return np.asarray(np.sqrt((step * step).sum(axis=-1)))


def translucency_00(on_black: ArrayLike, on_white: ArrayLike) -> Floats:
    """The translucency parameter with CIEDE2000 in place of the 1976 difference, TP00, unit 1."""
    return delta_e00(on_black, on_white)


def contrast_ratio(on_black: ArrayLike, on_white: ArrayLike) -> Floats:
    """Contrast ratio Y on black over Y on white, unit 1; 1 is opaque.

    on_black, on_white : (..., 3) CIELAB. Some papers divide L* instead, which is another number.
    """
    return np.asarray(xyz_from_lab(on_black)[..., 1] / xyz_from_lab(on_white)[..., 1])


def whiteness_index(lab: ArrayLike) -> Floats:
    """Whiteness index for dentistry WI_D of (..., 3) CIELAB, D65: larger is whiter.

    formula : 0.511 L* - 2.324 a* - 1.100 b* (Pérez et al. 2016, Dent Mater 32:461; from memory, unverified)
    """
    return np.asarray(np.asarray(lab, dtype=np.float64) @ np.array([0.511, -2.324, -1.100]))


def metamerism_index(
    sample: ArrayLike, standard: ArrayLike, *, illuminant: str, observer: str = "2"
) -> Floats:
    """Special metamerism index for a change of light, CIEDE2000: what is left after daylight is made equal.

    sample, standard : (..., 31) reflectance      illuminant : the other light, as TEST_LIGHTS
    """
    both = metameric_difference(sample, standard, illuminant=illuminant, observer=observer)
    return delta_e00(both[..., 0, :], both[..., 1, :])


def worst_metamerism(sample: ArrayLike, standard: ArrayLike) -> Floats:
    """The largest metamerism_index() over TEST_LIGHTS, 2 degree observer."""
    return np.asarray(
        np.max([metamerism_index(sample, standard, illuminant=light) for light in TEST_LIGHTS], axis=0)
    )
