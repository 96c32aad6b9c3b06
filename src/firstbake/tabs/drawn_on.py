"""Scattering drawn on into a band where the tabs hide their tiles."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import grid_nm
from firstbake.tabs.fit import Fit, Prior, fit_tabs
from firstbake.tabs.tab import TabSet

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Doubt of scattering that is drawn on, beside that of the drawing itself, relative (chosen here).
DRAWN_ON = 0.15
_KNOWN_MM = 1e-6
_FEWEST = 6


def drawn_on(tabs: TabSet, fit: Fit, *, start: tuple[Floats, Floats], blind: Flags) -> Fit:
    """The fit with its blind wavelengths filled in.

    blind  : (31,) True where the scattering can't be seen
    method : scattering there follows a power of the wavelength through the nearer half of the others, with
             the doubt of that line and 15 % more; absorption then comes from the readings. What all
             wavelengths share (thickness, scale) is held, since the line rests on it and says nothing new
             about it; its doubt is put on top of both as that of a common factor
    """
    known = ~blind
    share = fit.covariance[known, 1, 1] / fit.scattering_per_mm[known] ** 2
    held = tuple(
        replace(tab, thickness_mm=tab.thickness_mm + shift * tab.thickness_sd_mm, thickness_sd_mm=_KNOWN_MM)
        for tab, shift in zip(tabs.tabs, fit.thickness_shift_sd, strict=True)
    )
    filled = fit_tabs(
        replace(tabs, tabs=held, calibration_sd=0.0), start=start, prior=_line_through(fit, blind)
    )
    both = np.stack([filled.absorption_per_mm, filled.scattering_per_mm], axis=1)
    common = float(share.min()) * both[:, :, None] * both[:, None, :]
    return replace(
        fit,
        absorption_per_mm=np.where(blind, filled.absorption_per_mm, fit.absorption_per_mm),
        scattering_per_mm=np.where(blind, filled.scattering_per_mm, fit.scattering_per_mm),
        covariance=np.where(blind[:, None, None], filled.covariance + common, fit.covariance),
    )


def _line_through(fit: Fit, blind: Flags) -> Prior:
    """Scattering expected at the blind wavelengths, and its standard deviation."""
    log_nm = np.log(grid_nm())
    known = np.flatnonzero(~blind)
    expected, sd = np.zeros(31), np.full(31, np.inf)
    for row in np.flatnonzero(blind):
        near = known[np.argsort(np.abs(known - row), kind="stable")[: max(len(known) // 2, _FEWEST)]]
        line = np.polynomial.polynomial.polyfit(log_nm[near], np.log(fit.scattering_per_mm[near]), 1)
        off = np.log(fit.scattering_per_mm[near]) - (line[0] + line[1] * log_nm[near])
        reach = abs(log_nm[row] - log_nm[near].mean()) / max(float(np.std(log_nm[near])), 1e-3)
        drawn = float(np.exp(line[0] + line[1] * log_nm[row]))
        share = np.hypot(DRAWN_ON, float(np.std(off)) * np.sqrt((1 + reach**2) / len(near)))
        expected[row], sd[row] = drawn, drawn * share
    return Prior(expected, sd)
