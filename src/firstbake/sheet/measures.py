"""Measures: which calliper length is shown where on which drawing."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.green import Calliper
from firstbake.sheet.drawing import Measure, Stroke

Floats = NDArray[np.float64]

_THIRDS = {"cervical": 1 / 6, "neck": 1 / 6, "middle": 0.5, "body": 0.5, "incisal": 5 / 6, "occlusal": 5 / 6}


Ends = tuple[tuple[float, float], tuple[float, float], str]


@dataclass(frozen=True)
class Levels:
    """Local heights of the margin at the four sides and of the top of the wanted contour, mm.

    rise : +1 where the biting edge is at the top of the drawing, -1 where it is at the bottom
    """

    mesial_margin_mm: float
    distal_margin_mm: float
    outer_margin_mm: float
    inner_margin_mm: float
    top_mm: float
    rise: float

    def between(self, low_mm: float, share: float) -> float:
        """The height at a share of the way from a margin to the top, mm."""
        return low_mm + share * (self.top_mm - low_mm)


def letter_of(row: int) -> str:
    """A, B, ... Z, then A2, B2, ... for the rows of the calliper table."""
    turn, place = divmod(row, 26)
    return chr(ord("A") + place) + (str(turn + 1) if turn else "")


def measures_of(
    callipers: Iterable[Calliper], green: Stroke, *, name: str, levels: Levels
) -> tuple[Measure, ...]:
    """The calliper lengths that this drawing can show, placed on the green outline.

    green : the green outline of the drawing      name : "labial", "section" or "incisal"
    """
    if not green.lines_mm or name == "incisal":
        return ()
    found: list[Measure] = []
    for row, calliper in enumerate(callipers):
        words = calliper.name.lower()
        if words.startswith(("cut-back", "overbuild")) or "overbuild" in words:
            continue
        ends = _labial(words, green, levels) if name == "labial" else _section(words, green, levels)
        if ends is not None and not (ends[2] == "left" and any(m.side == "left" for m in found)):
            start, end, side = ends
            found.append(Measure(start, end, side, letter_of(row), calliper.green_mm))
    return tuple(found)


def _labial(words: str, green: Stroke, levels: Levels) -> Ends | None:
    """Length along the left side, mesiodistal lengths across."""
    if words.startswith(("length", "height")):
        points = np.vstack(green.lines_mm)
        edge = points[np.argmax(points[:, 1] * levels.rise)]
        return (0.0, levels.rise * levels.outer_margin_mm), (float(edge[0]), float(edge[1])), "left"
    if words.startswith("mesiodistal"):
        low = max(levels.mesial_margin_mm, levels.distal_margin_mm)
        return _across(green, levels.rise * levels.between(low, _share(words)), side="inside")
    return None


def _section(words: str, green: Stroke, levels: Levels) -> Ends | None:
    """Lengths from lip (cheek) to palate (tongue), and the thickness of the edge."""
    if words.startswith(("labio", "bucco")):
        low = max(levels.outer_margin_mm, levels.inner_margin_mm)
        return _across(green, levels.rise * levels.between(low, _share(words)), side="right")
    below = re.search(r"edge thickness, ([0-9.]+) mm below", words)
    if below:
        points = np.vstack(green.lines_mm)
        top = float((points[:, 1] * levels.rise).max())
        return _across(green, levels.rise * (top - float(below.group(1))), side="right")
    return None


def _share(words: str) -> float:
    """The height that a third in words stands for, unit 1; the middle where none is named."""
    return next((share for word, share in _THIRDS.items() if word in words), 0.5)


def _across(green: Stroke, y: float, *, side: str) -> Ends | None:
    """The widest span of the outline at a height of the drawing."""
    crossings = []
    for line, closed in zip(green.lines_mm, green.closed, strict=True):
        ring = np.vstack([line, line[:1]]) if closed else line
        here, there = ring[:-1], ring[1:]
        hit = (here[:, 1] - y) * (there[:, 1] - y) < 0
        part = (y - here[hit, 1]) / (there[hit, 1] - here[hit, 1])
        crossings.append(here[hit, 0] + part * (there[hit, 0] - here[hit, 0]))
    x = np.concatenate(crossings)
    return None if len(x) < 2 else ((float(x.min()), y), (float(x.max()), y), side)
