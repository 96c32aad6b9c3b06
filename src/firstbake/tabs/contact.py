"""Was there really fluid between tab and tile? What the readings themselves tell about it."""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from firstbake.colour import grid_nm
from firstbake.tabs.fit import FEW_ROUNDS, Fit, fit_tabs
from firstbake.tabs.start import Start
from firstbake.tabs.tab import CONTACTS, TabSet

Floats = NDArray[np.float64]

#: A misfit of two tabs this unlikely from the doubts alone is looked into (chosen here).
UNLIKELY = 1e-3
#: Another contact counts as the better account when it leaves less than this share of the misfit (chosen).
_BETTER_SHARE = 0.5
#: Fall of scattering with wavelength, exponent p in wavelength^-p, below which one tab is suspected of an
#: unseen air gap, by role; and the scattering at 550 nm, 1/mm, above which it is. An air gap adds a grey
#: lift that looks like scattering without colour. Set on this project's invented powders (true p 0.9 to 3,
#: with an unseen gap -0.6 to 1.2); that scattering falls with wavelength in porcelain is published (O'Brien,
#: Johnston & Fanian 1985, J Dent Res 64:940), these limits are not.
FLATTEST = {"dentine": 0.5, "opaque-dentine": 0.4, "margin": 0.5, "enamel": 0.75, "transparent": 0.75}
MOST_SCATTERING_PER_MM = {"dentine": 6.0, "margin": 6.0, "enamel": 1.8, "transparent": 0.8}
#: The other way round, fluid declared as an air gap: scattering seems to fall faster than this.
STEEPEST = 4.0


@dataclass(frozen=True)
class ContactCheck:
    """What the readings say about the declared contact.

    contradicted : the readings speak against it
    suspected    : they are unusual in the way that a wrong contact makes them, without proof
    checked      : False when these tabs can't tell
    sentence     : in words; never empty
    better       : contacts that would fit, one for each tab, or empty
    """

    contradicted: bool
    suspected: bool
    checked: bool
    sentence: str
    better: tuple[str, ...] = ()


def check_contact(tabs: TabSet, fit: Fit, *, start: Start) -> ContactCheck:
    """Check the declared contact against the readings.

    With two thicknesses a wrong contact leaves a misfit that another contact explains; with one thickness
    only unusual scattering can hint at it.
    """
    if len(tabs.tabs) > 1:
        return _by_misfit(tabs, fit, start=start)
    return _by_scattering(tabs, fit)


def unlikely(fit: Fit) -> bool:
    """True when the misfit is too large for the stated doubts."""
    return fit.free_readings > 0 and float(chi2.sf(fit.misfit, fit.free_readings)) < UNLIKELY


def _by_misfit(tabs: TabSet, fit: Fit, *, start: Start) -> ContactCheck:
    times = np.sqrt(fit.misfit / fit.free_readings)
    if not unlikely(fit):
        return ContactCheck(
            False, False, True, f"The tabs agree with {tabs.contact_in_words} within their doubt"
        )
    declared = tuple(tab.contact for tab in tabs.tabs)
    begin = (start.absorption_per_mm, start.scattering_per_mm)
    others = [c for c in product(CONTACTS, repeat=len(declared)) if c != declared]
    fits = [
        (fit_tabs(tabs, start=begin, contacts=other, rounds=FEW_ROUNDS).misfit, other) for other in others
    ]
    least, best = min(fits)
    if least < _BETTER_SHARE * fit.misfit:
        said = " and ".join(
            f"{contact} under the {tab.thickness_mm:.3g} mm tab"
            for tab, contact in zip(tabs.tabs, best, strict=True)
        )
        return ContactCheck(
            True,
            True,
            True,
            f"With {tabs.contact_in_words} as declared the tabs contradict each other ({times:.1f} times "
            f"the stated doubts); with {said} they fit far better ({np.sqrt(least / fit.free_readings):.1f} "
            "times). Read them again with fluid and without bubbles, or declare the contact as it was",
            best,
        )
    return ContactCheck(
        False,
        True,
        True,
        f"The tabs disagree by {times:.1f} times the stated doubts and no other contact explains it; check "
        "the thicknesses, and whether all were fired alike",
    )


def scattering_fall(scattering_per_mm: Floats) -> float:
    """Exponent p of the best scattering ~ wavelength^-p over (31,) values."""
    return float(-np.polyfit(np.log(grid_nm()), np.log(np.maximum(scattering_per_mm, 1e-9)), 1)[0])


def _by_scattering(tabs: TabSet, fit: Fit) -> ContactCheck:
    fall = scattering_fall(fit.scattering_per_mm)
    middle = float(np.median(fit.scattering_per_mm[12:19]))
    if tabs.tabs[0].contact == "air gap":
        if fall > STEEPEST:
            return ContactCheck(
                False,
                True,
                True,
                f"Scattering seems to fall with wavelength to the power of {fall:.1f}, which no powder does; "
                "the tab looks like one in optical contact declared as air gap",
            )
        return _cannot_tell(tabs)
    flat = fall < FLATTEST.get(tabs.role, -np.inf)
    strong = middle > MOST_SCATTERING_PER_MM.get(tabs.role, np.inf)
    if flat or strong:
        seems = f"hardly falls with wavelength (exponent {fall:.2f})" if flat else f"is {middle:.2g} per mm"
        return ContactCheck(
            False,
            True,
            True,
            f"Scattering {seems}, unusual for {_an(tabs.role)} and just what air under the tab looks like; "
            "read again with fluid and without bubbles, or add a second thickness, which would settle it",
        )
    return _cannot_tell(tabs)


def _cannot_tell(tabs: TabSet) -> ContactCheck:
    return ContactCheck(
        False,
        False,
        False,
        f"One thickness can't prove that there was {tabs.contact_in_words}; nothing unusual was seen, a "
        "second thickness would tell",
    )


def _an(role: str) -> str:
    return f"an {role}" if role[0] in "aeiou" else f"a {role}"
