"""Drawing: outlines and dimensions in tooth millimetres, seen from one side."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Pair = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Stroke:
    """The lines of one part of the crown.

    part     : "core", "dentine" (after the cut-back), "contour" (wanted) or "green"
    lines_mm : each (k, 2) mm on the drawing, x to the right, y up; the last point is not the first again
    closed   : for each line, whether it closes on itself
    """

    part: str
    lines_mm: tuple[Floats, ...]
    closed: tuple[bool, ...]


@dataclass(frozen=True)
class Measure:
    """A dimension on a drawing: an arrow from start to end (mm on the drawing) and the number to build to.

    side   : where the number stands: "left" or "right" of the outlines, or "inside" on the arrow
    letter : the row of the calliper table        green_mm : the number
    """

    start_mm: Pair
    end_mm: Pair
    side: str
    letter: str
    green_mm: float


@dataclass(frozen=True, eq=False)
class Drawing:
    """One true-scale drawing.

    name   : "labial", "section" or "incisal"     caption : in words
    bounds_mm : (2, 2) least and greatest corner of all lines
    rim    : words at the left, right, top and bottom
    """

    name: str
    caption: str
    strokes: tuple[Stroke, ...]
    measures: tuple[Measure, ...]
    bounds_mm: Floats
    rim: tuple[str, str, str, str]

    @property
    def size_mm(self) -> Pair:
        """Width and height of all lines, mm on the tooth."""
        width, height = self.bounds_mm[1] - self.bounds_mm[0]
        return float(width), float(height)
