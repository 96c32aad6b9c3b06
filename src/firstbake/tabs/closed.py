"""Absorption and scattering of one tab in closed form."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import outer_face
from firstbake.tabs.forward import under_tab
from firstbake.tabs.tab import Tab, TabSet

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_SMALL_B = 1e-6
_LEAST_SCATTERING = 1e-6


@dataclass(frozen=True, eq=False)
class ClosedForm:
    """One tab, solved wavelength by wavelength.

    absorption_per_mm, scattering_per_mm : (31,)
    negative : (31,) True where only a negative absorption would fit, so that 0 stands there
    no_answer : (31,) True where no layer at all gives these readings; the values there are a start only
    """

    absorption_per_mm: Floats
    scattering_per_mm: Floats
    negative: Flags
    no_answer: Flags


def closed_form(tab: Tab, tabs: TabSet) -> ClosedForm:
    """Absorption and scattering from readings over black and white, one thickness.

    formula : with all four reflectances taken inside the ceramic (w over white, b over black, Gw and Gb
              under the tab)
                a = ((w - Gw)(1 + b Gb) - (b - Gb)(1 + w Gw)) / (2 (w Gb - Gw b))
                u = (b - Gb) / (1 - a (b + Gb) + b Gb)      q = sqrt(a^2 - 1)
                S = artanh(q u) / (q d), for q to 0 u / d;   K = S (a - 1)
              the two-flux solution over two backings (Kubelka 1948, J Opt Soc Am 38:448; from memory,
              unverified), with backings that are not 0
    """
    face = outer_face(tabs.index, tabs.geometry)
    black, white = face.internal(tab.over_black), face.internal(tab.over_white)
    under_black = under_tab(tabs.black_tile, tabs, contact=tab.contact)
    under_white = under_tab(tabs.white_tile, tabs, contact=tab.contact)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        a = (white - under_white) * (1 + black * under_black)
        a = (a - (black - under_black) * (1 + white * under_white)) / (
            2 * (white * under_black - under_white * black)
        )
        negative = a < 1.0
        a = np.maximum(a, 1.0)
        u = (black - under_black) / (1 - a * (black + under_black) + black * under_black)
        q = np.sqrt((a - 1) * (a + 1))
        grown = np.where(q < _SMALL_B, u, np.arctanh(q * u) / np.where(q < _SMALL_B, 1.0, q))
        scattering = grown / tab.thickness_mm
    no_answer = ~np.isfinite(scattering) | ~np.isfinite(a) | (scattering <= 0.0)
    scattering = np.where(no_answer, 1.0 / tab.thickness_mm, np.maximum(scattering, _LEAST_SCATTERING))
    absorption = np.where(no_answer, 0.1 * scattering, scattering * (np.where(no_answer, 1.0, a) - 1))
    return ClosedForm(absorption, scattering, negative & ~no_answer, no_answer)
