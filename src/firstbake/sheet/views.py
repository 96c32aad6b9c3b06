"""Views: from which side a crown is looked at, never mirrored."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadCase
from firstbake.teeth import Frame

Floats = NDArray[np.float64]
VIEWS = ("labial", "inner", "incisal", "mesial", "distal")


@dataclass(frozen=True, eq=False)
class View:
    """A way of looking: unit rows right, up, toward the eye, in file coordinates, right-handed.

    name      : one of VIEWS         words : as a ceramist says it, "palatal view"
    origin_mm : (3,) the point that is drawn at (0, 0)
    rim       : words at the left, right, top and bottom of the picture
    """

    name: str
    words: str
    origin_mm: Floats
    axes: Floats
    rim: tuple[str, str, str, str]

    def seen(self, points_mm: Floats) -> Floats:
        """(n, 3) file coordinates -> (n, 3) right, up, toward the eye, mm."""
        return np.asarray((points_mm - self.origin_mm) @ self.axes.T)


def view_of(frame: Frame, name: str) -> View:
    """The view of one name, as the tooth stands in the mouth: upper teeth with the edge down.

    From the edge, upper teeth have the lip at the top and lower teeth at the bottom, as on a dental chart.
    The picture's right is up x toward in space, so a left-handed frame gives no mirror image.
    raises : BadCase when the name is not one of VIEWS
    """
    mesial, labial, incisal = frame.axes
    rise = -1.0 if frame.tooth.is_upper else 1.0
    ways = {
        "labial": (labial, rise * incisal),
        "inner": (-labial, rise * incisal),
        "incisal": (incisal, -rise * labial),
        "mesial": (mesial, rise * incisal),
        "distal": (-mesial, rise * incisal),
    }
    if name not in ways:
        raise BadCase(f'there is no view "{name}"; the views are {", ".join(VIEWS)}')
    toward, up = ways[name]
    right = np.cross(up, toward)
    axes = np.vstack([right, up, toward])
    words = {
        "labial": frame.tooth.outer_word,
        "inner": frame.tooth.inner_word,
        "incisal": frame.tooth.edge_word,
    }.get(name, name)
    rim = (_word(frame, -right), _word(frame, right), _word(frame, up), _word(frame, -up))
    return View(name, f"{words} view", frame.origin_mm, axes, rim)


def _word(frame: Frame, way: Floats) -> str:
    """The word for the axis that `way` follows."""
    along = frame.axes @ way
    axis = int(np.argmax(np.abs(along)))
    tooth = frame.tooth
    positive = ("mesial", tooth.outer_word, tooth.edge_word)
    negative = ("distal", tooth.inner_word, "cervical")
    return positive[axis] if along[axis] > 0 else negative[axis]
