"""An estimate of absorption and scattering in three bands, where tabs were read as CIELAB only."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from firstbake.colour import grid_nm, lab_from_reflectance, smooth_reflectance
from firstbake.errors import BadInput
from firstbake.tabs.contact import ContactCheck
from firstbake.tabs.forward import reading, under_tab
from firstbake.tabs.identify import Identified, advice
from firstbake.tabs.start import start_of
from firstbake.tabs.tab import Tab, TabSet

Floats = NDArray[np.float64]
Lab = tuple[float, float, float]

#: Middle of the blue, green and red band, nm; between and beyond them the logarithms run straight (chosen).
BAND_NM = (450.0, 545.0, 620.0)
#: Standard deviation of one CIELAB reading (from memory, unverified: bench instruments repeat within a few
#: tenths).
LAB_SD = (0.3, 0.2, 0.3)
#: Doubt of every value from the guess of its shape between three bands, relative (absorption, scattering):
#: some two to five times what the invented powders of this project show, whose spectra are smoother than real
#: ones may be (chosen here).
SHAPE_DOUBT = (0.30, 0.12)
_LEAST_TP = 2.0
_LEAST, _MOST = np.log(1e-4), np.log(200.0)
_WORST_FIT = 3.0


@dataclass(frozen=True)
class LabTab:
    """A tab read as CIELAB, D65, 2 degrees.

    thickness_mm, thickness_sd_mm : mm       contact : one of CONTACTS
    """

    thickness_mm: float
    thickness_sd_mm: float
    over_black: Lab
    over_white: Lab
    contact: str


def identify_from_lab(
    tabs: tuple[LabTab, ...],
    *,
    black_tile: Lab,
    white_tile: Lab,
    geometry: str,
    role: str,
    index: float = 1.5,
) -> Identified:
    """Three-band estimate from CIELAB over black and white; its doubt is larger than that of spectra.

    black_tile, white_tile : CIELAB of the bare tiles, read the same way
    method : absorption and scattering at the middle of the blue, green and red band so that the CIELAB of
             every tab comes out, the smoothest spectrum standing for each tile. Six numbers from six or more
    raises : BadInput when the tabs hide the tiles, or no three bands give these colours
    """
    each = [
        Tab(t.thickness_mm, t.thickness_sd_mm, _smooth(t.over_black), _smooth(t.over_white), t.contact)
        for t in tabs
    ]
    whole = TabSet(
        tuple(each), _smooth(black_tile), _smooth(white_tile), geometry, role, index=index, tile_index=1.5
    )
    wanted = np.array([[t.over_black, t.over_white] for t in tabs])
    shown = float(np.linalg.norm(wanted[:, 1] - wanted[:, 0], axis=-1).max())
    if shown < _LEAST_TP:
        raise BadInput(
            f"black and white differ by {shown:.1f} in CIELAB, too little to tell absorption from "
            f"scattering; make {advice(whole)}"
        )
    start = start_of(whole, clear=np.ones(31, dtype=bool))
    begin = np.log(np.concatenate([_at_bands(start.absorption_per_mm), _at_bands(start.scattering_per_mm)]))

    def off(logs: Floats, tabs: TabSet = whole) -> Floats:
        return np.asarray(((_labs(logs, tabs) - wanted) / np.array(LAB_SD)).ravel())

    found = least_squares(off, np.clip(begin, _LEAST + 0.1, _MOST - 0.1), bounds=(_LEAST, _MOST), xtol=1e-12)
    worst = float(np.abs(found.fun).max())
    if worst * LAB_SD[0] > _WORST_FIT:
        raise BadInput(
            "no three bands of absorption and scattering give these colours (the nearest is off by "
            f"{worst * LAB_SD[0]:.1f} in CIELAB); check contact, tiles and thickness"
        )
    return _answer(whole, found.x, np.asarray(found.jac))


def _answer(whole: TabSet, logs: Floats, slope: Floats) -> Identified:
    known = np.linalg.pinv(slope.T @ slope, rcond=1e-10)
    thickness = min(tab.thickness_sd_mm / tab.thickness_mm for tab in whole.tabs)
    variance = np.minimum(np.diag(known), 1.0) + thickness**2
    nm = grid_nm()
    k, s = _spectra(logs)
    doubt = [
        np.sqrt(np.interp(nm, BAND_NM, part) + shape**2)
        for part, shape in zip((variance[:3], variance[3:]), SHAPE_DOUBT, strict=True)
    ]
    contact = ContactCheck(
        False,
        False,
        False,
        f"CIELAB can't prove that there was {whole.contact_in_words}; spectra would tell more",
    )
    notes = (
        "A three-band estimate from CIELAB: the spectra between the bands are a guess, and how the powder "
        "looks under another light is not known. Read spectra if the instrument gives them",
    )
    return Identified(
        nm, k, s, k * doubt[0], s * doubt[1], np.zeros(31), np.zeros(31, dtype=bool), contact, notes, True
    )


def _smooth(lab: Lab) -> Floats:
    return smooth_reflectance(np.array(lab, dtype=np.float64))


def _at_bands(values: Floats) -> Floats:
    nm = grid_nm()
    return np.array(
        [np.exp(np.mean(np.log(np.maximum(values[np.abs(nm - middle) <= 30], 1e-4)))) for middle in BAND_NM]
    )


def _spectra(logs: Floats) -> tuple[Floats, Floats]:
    """(31,) absorption and scattering from six logarithms, straight between and beyond the bands."""
    nm = grid_nm()
    found = []
    for part in (logs[:3], logs[3:]):
        inside = np.interp(nm, BAND_NM, part)
        below = (part[1] - part[0]) / (BAND_NM[1] - BAND_NM[0]) * np.minimum(nm - BAND_NM[0], 0.0)
        above = (part[2] - part[1]) / (BAND_NM[2] - BAND_NM[1]) * np.maximum(nm - BAND_NM[2], 0.0)
        found.append(np.exp(np.clip(inside + below + above, -12.0, 6.0)))
    return found[0], found[1]


def _labs(logs: Floats, whole: TabSet) -> Floats:
    """(n, 2, 3) CIELAB of every tab over black and white."""
    k, s = _spectra(logs)
    rows = []
    for tab in whole.tabs:
        for tile in (whole.black_tile, whole.white_tile):
            under = under_tab(tile, whole, contact=tab.contact)
            rows.append(reading(k, s, tab.thickness_mm, under=under, tabs=whole))
    return lab_from_reflectance(np.array(rows)).reshape(len(whole.tabs), 2, 3)
