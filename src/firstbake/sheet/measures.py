"""Measures: which calliper length is shown where on which drawing."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from firstbake.green import Calliper
from firstbake.sheet.drawing import Measure, Stroke

Floats = NDArray[np.float64]

_THIRDS = {"cervical": 1 / 6, "neck": 1 / 6, "middle": 0.5, "body": 0.5, "incisal": 5 / 6, "occlusal": 5 / 6}


def letter_of(row: int) -> str:
    """A, B, ... Z, then A2, B2, ... for the rows of the calliper table."""
    turn, place = divmod(row, 26)
    return chr(ord("A") + place) + (str(turn + 1) if turn else "")


def measures_of(
    callipers: Iterable[Calliper], green: Stroke, *, name: str, rise: float
) -> tuple[Measure, ...]:
    """The calliper lengths that this drawing can show, placed on the green outline.

    green : the green outline of the drawing      name : "labial", "section" or "incisal"
    rise  : +1 where the biting edge is at the top, -1 where it is at the bottom
    """
    if not green.lines_mm:
        return ()
    points = np.vstack(green.lines_mm)
    found = []
    for row, calliper in enumerate(callipers):
        ends = _ends(calliper.name.lower(), points, green, name=name, rise=rise)
        if ends is not None:
            start, end, side = ends
            found.append(Measure(start, end, side, letter_of(row), calliper.green_mm))
    return tuple(found)


def _ends(
    words: str, points: Floats, green: Stroke, *, name: str, rise: float
) -> tuple[tuple[float, float], tuple[float, float], str] | None:
    """Where a length of these words starts and ends, and at which side its number stands."""
    across = words.startswith(("labio", "bucco"))
    if "cut" in words or "overbuild" in words or "enamel" in words:
        return None
    if name == "labial" and "length" in words:
        return _tangent(points, axis=1)
    if name == "labial" and "mesiodistal" in words and not _share(words):
        start, end, _ = _tangent(points, axis=0)
        return start, end, "bottom"
    if name == "labial" and "mesiodistal" in words:
        return _across(green, points, share=_share(words) or 0.5, rise=rise)
    if name == "section" and across:
        return _across(green, points, share=_share(words) or 0.5, rise=rise)
    if name == "section" and "edge" in words and "thick" in words:
        return _across(green, points, share=0.94, rise=rise)
    return None


def _share(words: str) -> float | None:
    """The height that a third in words stands for, unit 1, or None."""
    return next((share for word, share in _THIRDS.items() if word in words), None)


def _tangent(points: Floats, *, axis: int) -> tuple[tuple[float, float], tuple[float, float], str]:
    low, high = points[np.argmin(points[:, axis])], points[np.argmax(points[:, axis])]
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1])), "left" if axis else "bottom"


def _across(
    green: Stroke, points: Floats, *, share: float, rise: float
) -> tuple[tuple[float, float], tuple[float, float], str] | None:
    """The widest span of the outline at a share of its height from the neck."""
    low, high = float(points[:, 1].min()), float(points[:, 1].max())
    y = low + (high - low) * (share if rise > 0 else 1 - share)
    crossings = []
    for line, closed in zip(green.lines_mm, green.closed, strict=True):
        ring = np.vstack([line, line[:1]]) if closed else line
        here, there = ring[:-1], ring[1:]
        hit = (here[:, 1] - y) * (there[:, 1] - y) < 0
        part = (y - here[hit, 1]) / (there[hit, 1] - here[hit, 1])
        crossings.append(here[hit, 0] + part * (there[hit, 0] - here[hit, 0]))
    x = np.concatenate(crossings)
    return None if len(x) < 2 else ((float(x.min()), y), (float(x.max()), y), "right")
