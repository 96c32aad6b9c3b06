"""Where a fit begins: the closed form of each tab, joined, and gaps bridged."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import grid_nm, outer_face
from firstbake.errors import BadInput
from firstbake.tabs.closed import closed_form
from firstbake.tabs.tab import TabSet

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Share of the wavelengths that may be without any possible layer before the readings are refused
#: (chosen here: noise alone makes a few such wavelengths where a tab hides its tile).
_MOST_IMPOSSIBLE = 0.34


@dataclass(frozen=True, eq=False)
class Start:
    """Absorption and scattering to begin with, (31,), 1/mm.

    negative   : (31,) True where every tab would need a negative absorption
    impossible : (31,) True where no layer gives the readings of any tab
    """

    absorption_per_mm: Floats
    scattering_per_mm: Floats
    negative: Flags
    impossible: Flags


def start_of(tabs: TabSet, *, clear: Flags) -> Start:
    """The geometric mean of what the tabs say each by itself, wavelength by wavelength.

    clear  : (31,) True where a tab shows its tile clear of the noise; only there can readings be impossible
    raises : BadInput when black and white were swapped, or for a third of the wavelengths no layer at all
             gives the readings
    """
    _not_swapped(tabs)
    each = [closed_form(tab, tabs) for tab in tabs.tabs]
    good = np.stack([~one.no_answer for one in each])
    weight = np.where(good, 1.0, 1e-12)
    scattering = np.exp(np.average(np.log([one.scattering_per_mm for one in each]), axis=0, weights=weight))
    absorption = np.average([one.absorption_per_mm for one in each], axis=0, weights=weight)
    impossible = np.asarray(~good.any(axis=0))
    if (impossible & clear).mean() > _MOST_IMPOSSIBLE:
        raise BadInput(_no_layer(tabs, impossible & clear))
    if impossible.any():
        scattering, absorption = _bridged(tabs, scattering, absorption, known=~impossible)
    negative = np.asarray(np.all([one.negative for one in each], axis=0))
    return Start(absorption, scattering, negative, impossible)


def _not_swapped(tabs: TabSet) -> None:
    for tab in tabs.tabs:
        lift = tab.over_white - tab.over_black
        if float(lift.mean()) < -3 * tabs.reading_sd:
            raise BadInput(
                f"the {tab.thickness_mm:g} mm tab reads brighter over black than over white (by "
                f"{-lift.mean():.3f}); the two readings look swapped, check the row backing"
            )


def _no_layer(tabs: TabSet, impossible: Flags) -> str:
    air = all(tab.contact == "air gap" for tab in tabs.tabs)
    other = (
        "they look like tabs in optical contact declared as air gap"
        if air
        else "check contact, tiles and thickness"
    )
    nm = grid_nm()[impossible]
    return (
        f"At {impossible.sum()} of 31 wavelengths ({nm[0]:.0f} to {nm[-1]:.0f} nm) no layer of any powder "
        f"can give these readings with {tabs.contact_in_words} as declared; {other}"
    )


def _bridged(tabs: TabSet, scattering: Floats, absorption: Floats, *, known: Flags) -> tuple[Floats, Floats]:
    """Scattering drawn through from the neighbours, absorption from the reflectance of a thick layer."""
    nm = grid_nm()
    drawn = np.exp(np.interp(nm, nm[known], np.log(scattering[known])))
    thickest = max(tabs.tabs, key=lambda tab: tab.thickness_mm)
    inside = outer_face(tabs.index, tabs.geometry).internal(thickest.over_black)
    inside = np.clip(inside, 0.01, 0.99)
    ratio = (1 - inside) ** 2 / (2 * inside)
    return drawn, np.where(known, absorption, drawn * ratio)
