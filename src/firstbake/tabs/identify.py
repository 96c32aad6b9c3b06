"""From tabs to absorption and scattering with their doubt, or to a sentence that says why not."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import grid_nm, lab_from_reflectance
from firstbake.errors import BadInput
from firstbake.powder import Optics
from firstbake.tabs.contact import ContactCheck, check_contact, unlikely
from firstbake.tabs.drawn_on import drawn_on
from firstbake.tabs.fit import Fit, fit_tabs
from firstbake.tabs.start import Start, start_of
from firstbake.tabs.tab import ADVISED_MM, Tab, TabSet

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Black and white must differ by this many standard deviations of their difference (chosen here).
_CLEAR_OF_NOISE = 3.0
#: Scattering known worse than this counts as not identified (chosen here).
_MOST_DOUBT = 0.4
#: A thickness known worse than this share of itself is refused (chosen here).
_MOST_THICKNESS_DOUBT = 0.25
#: Above this share of wavelengths that are not identified the tabs are refused (chosen here).
_MOST_BLIND = 0.45
#: Colour difference black to white, CIELAB, in which tabs tell most (this project's noise study, simulated).
BEST_TP = (8.0, 30.0)


@dataclass(frozen=True, eq=False)
class Identified:
    """What tabs tell about a powder.

    wavelength_nm : (31,) nm
    absorption_per_mm, scattering_per_mm : (31,) 1/mm
    absorption_sd_per_mm, scattering_sd_per_mm : (31,) one standard deviation, 1/mm
    correlation : (31,) of both errors, -1 to 1
    drawn_on    : (31,) True where scattering was drawn on from other wavelengths
    contact     : what the readings say about the declared contact
    notes       : what is doubtful, in sentences
    three_band  : True for an estimate from CIELAB
    """

    wavelength_nm: Floats
    absorption_per_mm: Floats
    scattering_per_mm: Floats
    absorption_sd_per_mm: Floats
    scattering_sd_per_mm: Floats
    correlation: Floats
    drawn_on: Flags
    contact: ContactCheck
    notes: tuple[str, ...]
    three_band: bool = False

    def optics(self, *, index: float, source: str, status: str = "measured") -> Optics:
        """The optics for a card, with their doubt."""
        return Optics(
            self.wavelength_nm,
            self.absorption_per_mm,
            self.scattering_per_mm,
            index,
            status,
            source,
            self.absorption_sd_per_mm,
            self.scattering_sd_per_mm,
            None if self.three_band else self.correlation,
        )


def identify(tabs: TabSet) -> Identified:
    """Absorption and scattering, 400 to 700 nm at 10 nm, from one or more tabs over black and white.

    method : two-flux layers with the faces of tab and tiles (colour.faces), solved in closed form for one
             tab and by least squares over all readings for more; thickness and scale errors go into the
             doubt. Where the tabs hide their tiles the scattering is drawn on from the other wavelengths,
             with a doubt to match, and the notes say so
    raises : BadInput when the tabs can't identify the powder, saying which band and what to make instead
    """
    clear = clear_of_noise(tabs)
    if 1.0 - clear.mean() > _MOST_BLIND:
        raise BadInput(_refusal(tabs, ~clear))
    _thickness_known(tabs)
    start = start_of(tabs, clear=clear)
    begin = (start.absorption_per_mm, start.scattering_per_mm)
    fit = fit_tabs(tabs, start=begin)
    blind = _blind(tabs, fit, clear=clear, start=start)
    contact = check_contact(tabs, fit, start=start)
    if blind.mean() > _MOST_BLIND:
        raise BadInput(_refusal(tabs, blind))
    if blind.any():
        fit = drawn_on(tabs, fit, start=begin, blind=blind)
    widened = max(fit.misfit / fit.free_readings, 1.0) if unlikely(fit) else 1.0
    sd = np.sqrt(np.einsum("wpp->wp", fit.covariance) * widened)
    notes = tuple(_notes(tabs, fit, start=start, blind=blind, widened=widened))
    return Identified(
        grid_nm(),
        fit.absorption_per_mm,
        fit.scattering_per_mm,
        sd[:, 0],
        sd[:, 1],
        fit.covariance[:, 0, 1] * widened / (sd[:, 0] * sd[:, 1]),
        blind,
        contact,
        notes,
    )


def translucency(tab: Tab) -> float:
    """CIELAB difference of a tab between its white and its black tile, D65, 2 degrees."""
    white, black = lab_from_reflectance(tab.over_white), lab_from_reflectance(tab.over_black)
    return float(np.linalg.norm(white - black))


def clear_of_noise(tabs: TabSet) -> Flags:
    """(31,) True where at least one tab lets its tile be seen clear of the noise."""
    clear = np.zeros(31, dtype=bool)
    for tab in tabs.tabs:
        noise = tabs.reading_sd * np.sqrt(sum(1.0 / n for n in tab.readings))
        clear |= np.abs(tab.over_white - tab.over_black) > _CLEAR_OF_NOISE * noise
    return clear


def _blind(tabs: TabSet, fit: Fit, *, clear: Flags, start: Start) -> Flags:
    """(31,) True where no tab shows its tile, or scattering is hardly known."""
    doubt = fit.covariance[:, 1, 1] / fit.scattering_per_mm**2 - _thickness_doubt(tabs) ** 2
    return np.asarray(~clear | start.impossible | (doubt > _MOST_DOUBT**2))


def _thickness_doubt(tabs: TabSet) -> float:
    """Relative standard deviation of the best known thickness."""
    return min(tab.thickness_sd_mm / tab.thickness_mm for tab in tabs.tabs)


def _thickness_known(tabs: TabSet) -> None:
    if _thickness_doubt(tabs) > _MOST_THICKNESS_DOUBT:
        tab = max(tabs.tabs, key=lambda one: one.thickness_mm)
        raise BadInput(
            f"a tab of {tab.thickness_mm:.3g} mm known to {tab.thickness_sd_mm:.2g} mm tells too little; "
            "measure it better (row thickness doubt mm) or make a thicker one"
        )


def _refusal(tabs: TabSet, blind: Flags) -> str:
    sizes = " and ".join(f"{tab.thickness_mm:.3g}" for tab in tabs.tabs)
    lift = max((tab.over_white - tab.over_black)[blind].mean() for tab in tabs.tabs)
    return (
        f"Tabs of {sizes} mm can't identify this powder at {_bands(blind)}: over white they read only "
        f"{lift:.3f} more than over black, too little beside the noise of {tabs.reading_sd:g}. "
        f"Make {advice(tabs)}, so that black and white differ by {BEST_TP[0]:g} to {BEST_TP[1]:g} in CIELAB"
    )


def advice(tabs: TabSet) -> str:
    """Which tabs to make instead, in words."""
    thin, thick = ADVISED_MM[tabs.role]
    made = min(tab.thickness_mm for tab in tabs.tabs)
    if made <= thin:
        return f"tabs of {made / 2:.2g} mm (those of {made:.3g} mm hide too much)"
    return f"tabs of {thin:.2f} and {thick:.2f} mm"


def _bands(flags: Flags) -> str:
    """The wavelengths in words, "400 to 450 nm and at 700 nm"."""
    nm = grid_nm()[flags]
    parts, first = [], nm[0]
    for here, after in zip(nm, [*nm[1:], np.inf], strict=True):
        if after - here > 10.5:
            parts.append(f"{first:.0f} to {here:.0f} nm" if here > first else f"{here:.0f} nm")
            first = after
    return ", ".join(parts[:-1]) + (" and " if len(parts) > 1 else "") + parts[-1]


def _notes(tabs: TabSet, fit: Fit, *, start: Start, blind: Flags, widened: float) -> list[str]:
    notes = []
    low, high = BEST_TP
    for tab in tabs.tabs:
        shown = translucency(tab)
        if not low <= shown <= high:
            way = "thinner" if shown < low else "thicker"
            notes.append(
                f"The {tab.thickness_mm:.3g} mm tab differs by {shown:.1f} in CIELAB from black to white; "
                f"{low:g} to {high:g} tells most, a {way} one would be better"
            )
    if blind.any():
        notes.append(
            f"At {_bands(blind)} no light gets through that the instrument could tell from noise; "
            "scattering there is drawn on from the other wavelengths, with more doubt"
        )
    negative = (fit.absorption_per_mm <= 0.0) | start.negative
    if negative.any():
        notes.append(
            f"At {_bands(negative)} only a negative absorption would fit, as noise makes of a very clear "
            "powder; 0 or nearly 0 stands there"
        )
    if widened > 1.0:
        notes.append(
            f"The tabs disagree by {np.sqrt(widened):.1f} times the stated doubts; every doubt is widened by "
            "as much"
        )
    return notes
