"""CIEDE2000: how different two colours look."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

_HALF_CHROMA = 25.0**7

#: Half of observers see a smaller difference than this, or would still accept one (Paravina et al. 2015,
#: J Esthet Restor Dent 27 S1:S1; figures from memory, as quoted in later reviews).
PERCEPTIBLE_DELTA_E00 = 0.8
ACCEPTABLE_DELTA_E00 = 1.8


def delta_e00(first: ArrayLike, second: ArrayLike) -> Floats:
    """CIEDE2000 difference, unit 1, all weights 1.

    first, second : (..., 3) CIELAB, broadcast against each other
    source : ISO/CIE 11664-6; order of the sums after Sharma, Wu & Dalal 2005, Color Res Appl 30:21
    """
    one, two = np.broadcast_arrays(np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64))
    l1, a1, b1 = np.moveaxis(one, -1, 0)
    l2, a2, b2 = np.moveaxis(two, -1, 0)
    stretch = 1 + _grey_stretch(0.5 * (np.hypot(a1, b1) + np.hypot(a2, b2)))
    c1, h1 = _chroma_hue(a1 * stretch, b1)
    c2, h2 = _chroma_hue(a2 * stretch, b2)
    mean_l, mean_c = 0.5 * (l1 + l2), 0.5 * (c1 + c2)
    turn, mean_h = _hues(h1, h2, neutral=c1 * c2 == 0)
    step_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn) / 2)
    lightness = (l2 - l1) / (1 + 0.015 * (mean_l - 50) ** 2 / np.sqrt(20 + (mean_l - 50) ** 2))
    chroma = (c2 - c1) / (1 + 0.045 * mean_c)
    hue = step_h / (1 + 0.015 * mean_c * _hue_factor(mean_h))
    crossed = _rotation(mean_c, mean_h) * chroma * hue
    return np.asarray(np.sqrt(np.maximum(lightness**2 + chroma**2 + hue**2 + crossed, 0.0)))


def _grey_stretch(mean_chroma: Floats) -> Floats:
    seventh = mean_chroma**7
    return np.asarray(0.5 * (1 - np.sqrt(seventh / (seventh + _HALF_CHROMA))))


def _chroma_hue(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Chroma, and hue in degrees from 0 to 360."""
    return np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360.0


def _hues(h1: Floats, h2: Floats, *, neutral: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Turn from the first hue to the second the short way round, and the hue half-way, degrees."""
    step = h2 - h1
    far = np.abs(step) > 180.0
    turn = np.where(far, step - np.copysign(360.0, step), step)
    total = h1 + h2
    mean = np.where(far, np.where(total < 360.0, total + 360.0, total - 360.0), total) / 2
    return np.where(neutral, 0.0, turn), np.where(neutral, total, mean)


def _hue_factor(mean_h: Floats) -> Floats:
    angle = np.radians(mean_h)
    return np.asarray(
        1
        - 0.17 * np.cos(angle - np.pi / 6)
        + 0.24 * np.cos(2 * angle)
        + 0.32 * np.cos(3 * angle + np.radians(6))
        - 0.20 * np.cos(4 * angle - np.radians(63))
    )


def _rotation(mean_c: Floats, mean_h: Floats) -> Floats:
    spread = np.radians(30) * np.exp(-(((mean_h - 275) / 25) ** 2))
    seventh = mean_c**7
    return np.asarray(-2 * np.sqrt(seventh / (seventh + _HALF_CHROMA)) * np.sin(2 * spread))
