"""Places on a tooth in words."""

import numpy as np
from numpy.typing import NDArray

from firstbake.teeth.frame import Frame, Point

Floats = NDArray[np.float64]
_EDGE_BAND_MM = 0.7  # within this of the top of a front tooth a place is "incisal edge" (chosen here)
_CORNER = {"mesial": "mesio", "distal": "disto"}
_CORNER_DEG = (27.0, 63.0)  # between these angles from the mesiodistal line a place is a line angle


def place_in_words(frame: Frame, point_mm: Point | Floats) -> str:
    """Where a point in file coordinates lies: "distolabial, cervical third", "incisal edge" and so on.

    Angles are those of the ellipse of the tooth's own width and depth, so a corner of the outline is
    named a line angle on narrow and wide teeth alike.
    """
    point = np.asarray(point_mm, dtype=np.float64).reshape(1, 3)
    x, y, z = (float(v) for v in frame.to_local(point)[0])
    share = float(frame.height_share(point)[0])
    tooth = frame.tooth
    side = _side_words(frame, x, y)
    if tooth.is_front:
        return "incisal edge" if frame.height_mm - z < _EDGE_BAND_MM else f"{side}, {_third(frame, share)}"
    across = np.hypot(2 * x / frame.width_mm, 2 * y / frame.depth_mm)
    if share > 0.55 and across < 0.35:
        return "occlusal, central fossa"
    if share > 0.6 and across < 0.85:
        return f"occlusal, {side}"
    return f"{side}, {_third(frame, share)}"


def zone_of(frame: Frame, points_mm: Floats) -> NDArray[np.int8]:
    """(n,) zone of points in file coordinates: 0 cervical, 1 body, 2 incisal (thirds of the local height)."""
    share = frame.height_share(points_mm)
    return np.asarray((share > 1 / 3).astype(np.int8) + (share > 2 / 3).astype(np.int8), dtype=np.int8)


def _third(frame: Frame, share: float) -> str:
    """The third of the height in words."""
    if share <= 1 / 3:
        return "cervical third"
    return "middle third" if share <= 2 / 3 else f"{frame.tooth.edge_word} third"


def _side_words(frame: Frame, x: float, y: float) -> str:
    """ "mesial", "labial", "distopalatal" and so on."""
    u, v = 2 * x / frame.width_mm, 2 * y / frame.depth_mm
    angle = np.degrees(np.arctan2(abs(v), abs(u)))
    along = "mesial" if u >= 0 else "distal"
    over = frame.tooth.outer_word if v >= 0 else frame.tooth.inner_word
    if angle < _CORNER_DEG[0]:
        return along
    return over if angle > _CORNER_DEG[1] else f"{_CORNER[along]}{over}"
