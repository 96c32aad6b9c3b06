"""From reflectance to colour numbers: tristimulus values, CIELAB, a preview on the screen."""

from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.colour import weights, weights_10
from firstbake.errors import BadInput

Floats = NDArray[np.float64]


def _table(rows: weights.Rows) -> Floats:
    table = np.array(rows, dtype=np.float64)
    table.setflags(write=False)
    return table


_WEIGHTS = MappingProxyType(
    {
        ("D65", "2"): _table(weights.D65),
        ("D50", "2"): _table(weights.D50),
        ("A", "2"): _table(weights.A),
        ("F11", "2"): _table(weights.F11),
        ("LED-B3", "2"): _table(weights.LED_B3),
        ("D65", "10"): _table(weights_10.D65),
        ("D50", "10"): _table(weights_10.D50),
        ("A", "10"): _table(weights_10.A),
        ("F11", "10"): _table(weights_10.F11),
        ("LED-B3", "10"): _table(weights_10.LED_B3),
    }
)
ILLUMINANTS = ("D65", "D50", "A", "F11", "LED-B3")
#: Degrees of the field of view: CIE 1931 and CIE 1964.
OBSERVERS = ("2", "10")

_EDGE = 6.0 / 29.0
# Linear light of the sRGB primaries from XYZ with the white of D65 at 1 (IEC 61966-2-1).
_TO_LINEAR_RGB = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])


def weights_of(illuminant: str = "D65", observer: str = "2") -> Floats:
    """(31, 3) weights of X, Y, Z on the grid of this room, read-only.

    illuminant : one of ILLUMINANTS      observer : one of OBSERVERS      raises : BadInput on another
    """
    if illuminant not in ILLUMINANTS:
        raise BadInput(f'light "{illuminant}" is not one of {", ".join(ILLUMINANTS)}')
    if observer not in OBSERVERS:
        raise BadInput(f'observer "{observer}" is not one of {", ".join(OBSERVERS)} (degrees)')
    return _WEIGHTS[illuminant, observer]


def white_of(illuminant: str = "D65", observer: str = "2") -> Floats:
    """(3,) XYZ of the perfect diffuser, from the same weights, Y = 100."""
    return np.asarray(weights_of(illuminant, observer).sum(axis=0))


def xyz_from_reflectance(reflectance: ArrayLike, *, illuminant: str = "D65", observer: str = "2") -> Floats:
    """(..., 3) XYZ of (..., 31) reflectance on 400 to 700 nm, Y of the perfect diffuser 100."""
    return np.asarray(np.asarray(reflectance, dtype=np.float64) @ weights_of(illuminant, observer))


def lab_from_xyz(xyz: ArrayLike, *, illuminant: str = "D65", observer: str = "2") -> Floats:
    """(..., 3) CIELAB of (..., 3) XYZ. source : ISO/CIE 11664-4."""
    share = np.asarray(xyz, dtype=np.float64) / white_of(illuminant, observer)
    f = np.where(share > _EDGE**3, np.cbrt(share), share / (3 * _EDGE**2) + 4 / 29)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def xyz_from_lab(lab: ArrayLike, *, illuminant: str = "D65", observer: str = "2") -> Floats:
    """(..., 3) XYZ of (..., 3) CIELAB; exact inverse of lab_from_xyz()."""
    colour = np.asarray(lab, dtype=np.float64)
    y = (colour[..., 0] + 16) / 116
    f = np.stack([y + colour[..., 1] / 500, y, y - colour[..., 2] / 200], axis=-1)
    share = np.where(f > _EDGE, f**3, 3 * _EDGE**2 * (f - 4 / 29))
    return np.asarray(share * white_of(illuminant, observer))


def lab_from_reflectance(reflectance: ArrayLike, *, illuminant: str = "D65", observer: str = "2") -> Floats:
    """(..., 3) CIELAB of (..., 31) reflectance on 400 to 700 nm at 10 nm."""
    xyz = xyz_from_reflectance(reflectance, illuminant=illuminant, observer=observer)
    return lab_from_xyz(xyz, illuminant=illuminant, observer=observer)


def srgb_from_lab(lab: ArrayLike) -> Floats:
    """(..., 3) screen preview of (..., 3) CIELAB under D65: sRGB from 0 to 1, cut off at the screen's limits.

    source : IEC 61966-2-1. The white of the D65 weights is taken to the screen's white.
    """
    xyz = xyz_from_lab(lab) / white_of("D65") * np.array([0.9505, 1.0, 1.089])
    linear = np.clip(xyz @ _TO_LINEAR_RGB.T, 0.0, 1.0)
    curved = 1.055 * linear ** (1 / 2.4) - 0.055
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, curved))


def metameric_difference(
    sample: ArrayLike, standard: ArrayLike, *, illuminant: str, observer: str = "2"
) -> Floats:
    """(..., 2, 3) CIELAB of sample and standard under another light, once made equal under D65.

    sample, standard : (..., 31) reflectance
    method : the sample's XYZ under the other light times the ratio standard / sample under D65, which takes
             away what differs in daylight already (CIE 15; from memory, unverified)
    """
    day = {"illuminant": "D65", "observer": observer}
    ratio = xyz_from_reflectance(standard, **day) / xyz_from_reflectance(sample, **day)
    lamp = {"illuminant": illuminant, "observer": observer}
    first = lab_from_xyz(xyz_from_reflectance(sample, **lamp) * ratio, **lamp)
    second = lab_from_reflectance(standard, **lamp)
    return np.stack(np.broadcast_arrays(first, second), axis=-2)
