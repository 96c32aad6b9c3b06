"""Styles of pictures: colour maps, ends of the legend, and the tokens of page and ink."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

INK = (31, 27, 22)
QUIET = (95, 87, 75)
SHEET = (255, 255, 255)
_STEPS = 257  # odd, so that nought of a signed map has a step of its own


@dataclass(frozen=True)
class MapStyle:
    """How a field of the vertices is shown.

    title      : words over the picture, "room, mm"
    low, high  : ends of the legend, limits of the trade and not of the data
    step       : distance of the contour lines and of the numbers at the legend
    colours    : name of a perceptually even map of F. Crameri, doi.org/10.5281/zenodo.1243862
    signed     : True for a field about nought: + and − stand beside the colours
    band       : half width about nought that counts as "as wanted" (signed only)
    """

    title: str
    low: float
    high: float
    step: float
    colours: str
    signed: bool = False
    band: float = 0.0

    def paint(self, values: Floats) -> Floats:
        """(..., 3) linear-light colours, 0 to 1, of values of any shape; beyond the ends the end's colour."""
        if self.signed and self.band > 0:
            values = np.where(np.abs(values) <= self.band, 0.0, values)
        share = np.clip((values - self.low) / (self.high - self.low), 0, 1)
        return _table(self.colours)[np.round(share * (_STEPS - 1)).astype(np.intp)]


@cache
def _table(colours: str) -> Floats:
    """(_STEPS, 3) linear-light colours of one map."""
    from cmcrameri import cm

    return linear(np.asarray(getattr(cm, colours)(np.linspace(0, 1, _STEPS)))[:, :3])


def linear(coded: Floats) -> Floats:
    """sRGB 0 to 1 to linear light (IEC 61966-2-1)."""
    return np.asarray(np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4))


def coded(light: Floats) -> Floats:
    """Linear light to sRGB 0 to 1 (IEC 61966-2-1)."""
    light = np.clip(light, 0, 1)
    return np.asarray(np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055))


ROOM = MapStyle("room, mm", 0.0, 2.0, 0.25, "lajolla_r")
OVERBUILD = MapStyle("overbuild, mm", 0.0, 1.0, 0.1, "davos_r")
RISK = MapStyle("relative tearing risk", 0.0, 0.5, 0.1, "lajolla_r")  # in units of the sintering stress
PULL = MapStyle("pull after cooling, MPa", 0.0, 40.0, 5.0, "lajolla_r")
CUT_BACK = MapStyle("cut back, wet, mm", 0.0, 1.5, 0.25, "bamako_r")
ENAMEL = MapStyle("enamel, mm", 0.0, 1.5, 0.25, "bamako_r")
# steps of 0.8: the least difference that half of observers see (see colour.PERCEPTIBLE_DELTA_E00)
MASKING = MapStyle("stump shows, ΔE", 0.0, 4.0, 0.8, "lajolla_r")
