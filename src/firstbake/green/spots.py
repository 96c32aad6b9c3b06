"""Spots: where on a crown the lengths are taken, fixed by the wanted contour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.green.gauge import Gauge, X, Y, Z
from firstbake.mesh import Floats
from firstbake.teeth import Frame, Tooth

BELOW_EDGE_MM = 1.5
_SHARES = (1 / 6, 1 / 2, 5 / 6)


def third_names(tooth: Tooth) -> tuple[str, str, str]:
    """Names of the thirds, from the neck up."""
    return ("cervical third", "middle third", f"{tooth.edge_word} third")


def across_word(tooth: Tooth) -> str:
    """ "labiopalatal", "labiolingual", "buccopalatal" or "buccolingual"."""
    return tooth.outer_word.replace("al", "o") + tooth.inner_word


@dataclass(frozen=True)
class Spots:
    """Places of the lengths, local mm, the same for the fired and the green crown.

    outer_margin_z : height of the margin at the middle of the labial side
    wide_z, deep_z : heights of the mesiodistal and the labiolingual lengths, in the middle of each third
                     between the higher of the two margins they meet and the edge (or the lowest cusp)
    middle_x, middle_y : middle of the crown at half height
    """

    tooth: Tooth
    outer_margin_z: float
    wide_z: tuple[float, ...]
    deep_z: tuple[float, ...]
    middle_x: float
    middle_y: float
    width_mm: float
    depth_mm: float

    @staticmethod
    def of(frame: Frame, contour: Gauge) -> "Spots":
        """Spots of the wanted contour; on back teeth the lowest cusp is the top of the thirds."""
        spots = Spots._below(frame, contour, float(contour.points_mm[:, Z].max()))
        if frame.tooth.is_front:
            return spots
        tips = [contour.top(where) for where in spots.cusps(contour.points_mm).values()]
        return Spots._below(frame, contour, min(float(tip[Z]) for tip in tips if tip is not None))

    @staticmethod
    def _below(frame: Frame, contour: Gauge, top: float) -> "Spots":
        sides = np.array([[1.0, 0, 0], [-1.0, 0, 0], [0, 1.0, 0], [0, -1.0, 0]])
        mesial, distal, outer, inner = frame.margin_height_mm(sides).tolist()
        wide, deep = _between(max(mesial, distal), top), _between(max(outer, inner), top)
        x0, x1 = contour.ends(X, plane=Z, at_mm=wide[1])
        y0, y1 = contour.ends(Y, plane=Z, at_mm=deep[1])
        middle = (x0 + x1) / 2, (y0 + y1) / 2
        return Spots(frame.tooth, outer, wide, deep, *middle, width_mm=x1 - x0, depth_mm=y1 - y0)

    def lobes(self, points_mm: Floats) -> dict[str, NDArray[np.bool_]]:
        """Which of (n, 3) local points belong to which lobe of an incisor, or to the one tip of a canine."""
        if self.tooth.kind != "incisor":
            return {"tip": np.ones(len(points_mm), dtype=np.bool_)}
        x = (points_mm[:, X] - self.middle_x) / self.width_mm
        return {
            "mesial lobe tip": x > 1 / 6,
            "middle lobe tip": np.abs(x) <= 1 / 6,
            "distal lobe tip": x < -1 / 6,
        }

    def cusps(self, points_mm: Floats) -> dict[str, NDArray[np.bool_]]:
        """Which of (n, 3) local points belong to which corner of a molar or half of a premolar."""
        outer, mesial = points_mm[:, Y] > self.middle_y, points_mm[:, X] > self.middle_x
        inner_word = self.tooth.inner_word
        if self.tooth.kind == "premolar":
            return {"buccal cusp": outer, f"{inner_word} cusp": ~outer}
        return {
            "mesiobuccal cusp": outer & mesial,
            "distobuccal cusp": outer & ~mesial,
            f"mesio{inner_word} cusp": ~outer & mesial,
            f"disto{inner_word} cusp": ~outer & ~mesial,
        }

    def fossa_z(self, contour: Gauge) -> float:
        """Deepest point of the occlusal face near its middle, local mm; NaN where there is none."""
        p = contour.points_mm
        near = (np.abs(p[:, X] - self.middle_x) < 0.2 * self.width_mm) & (p[:, Z] > self.deep_z[1])
        near &= np.abs(p[:, Y] - self.middle_y) < 0.2 * self.depth_mm
        return float(p[near, Z].min()) if near.any() else float("nan")


def _between(low: float, high: float) -> tuple[float, ...]:
    return tuple(low + share * (high - low) for share in _SHARES)
