"""One fit over all readings: absorption, scattering and both tiles at every wavelength, thickness and scale.

Every reading counts with its own doubt. A thickness and the scale of the instrument are the same at every
wavelength, so they are fitted along with their stated doubt as knowledge beforehand; with one tab they stay
as stated and only pass their doubt on. Gauss-Newton steps; the doubt is that of the linearised fit.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.tabs.forward import reading, under_tab
from firstbake.tabs.tab import TabSet

Floats = NDArray[np.float64]

#: Most steps of a fit; and of a fit that only has to be told from a bad one.
ROUNDS, FEW_ROUNDS = 30, 10
_SETTLED = 1e-12
_SETTLED_COST = 1e-6
_STEP = 1e-6
_MOST_CHANGE = 0.7
_LEAST = 1e-9


@dataclass(frozen=True, eq=False)
class Prior:
    """Scattering known beforehand at some wavelengths.

    scattering_per_mm : (31,)      sd_per_mm : (31,) its standard deviation, inf where nothing is known
    """

    scattering_per_mm: Floats
    sd_per_mm: Floats


@dataclass(frozen=True, eq=False)
class Fit:
    """Result of a fit.

    absorption_per_mm, scattering_per_mm : (31,)
    covariance    : (31, 2, 2) of (absorption, scattering), 1/mm^2
    misfit        : weighted sum of squared residuals, the part of thickness and scale included
    free_readings : how many more readings than unknowns there are
    thickness_shift_sd : fitted minus stated thickness of each tab in its standard deviations
    """

    absorption_per_mm: Floats
    scattering_per_mm: Floats
    covariance: Floats
    misfit: float
    free_readings: int
    thickness_shift_sd: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class _Sum:
    """The readings as the fit wants them: (31, m) values and doubts, m = 2 tiles + 2 for each tab."""

    tabs: TabSet
    contacts: tuple[str, ...]
    values: Floats
    sd: Floats
    shared_sd: Floats

    def predicted(self, local: Floats, shared: Floats) -> Floats:
        """(31, m) readings. local : (31, 4) K, S, black, white; shared : (n + 1,) thickness shifts, scale."""
        absorption, scattering = local[:, 0], local[:, 1]
        tiles = local[:, 2:].T
        found = [*tiles]
        for tab, contact, shift in zip(self.tabs.tabs, self.contacts, shared[:-1], strict=True):
            under = under_tab(tiles, self.tabs, contact=contact)
            found += [*reading(absorption, scattering, tab.thickness_mm + shift, under=under, tabs=self.tabs)]
        return np.asarray(np.stack(found, axis=1) * (1.0 + shared[-1]))


def fit_tabs(
    tabs: TabSet,
    *,
    start: tuple[Floats, Floats],
    contacts: tuple[str, ...] | None = None,
    prior: Prior | None = None,
    rounds: int = ROUNDS,
) -> Fit:
    """Fit absorption and scattering to all tabs at once.

    start    : (31,) absorption and (31,) scattering to begin with, 1/mm
    contacts : one for each tab in place of the declared ones
    prior    : scattering known beforehand, or None
    rounds   : most steps
    """
    whole = _sum_of(tabs, contacts or tuple(tab.contact for tab in tabs.tabs))
    local = np.stack([*start, tabs.black_tile, tabs.white_tile], axis=1)
    shared = np.zeros(len(whole.shared_sd))
    cost = _cost(whole, local, shared, prior=prior)
    for _ in range(rounds):
        step, drift, _ = _newton(whole, local, shared, prior=prior)
        moved, moved_shared, new_cost = _shortened(whole, (local, shared), (step, drift), prior=prior)
        change = float(np.max(np.abs(moved - local) / (np.abs(local) + _LEAST)))
        if new_cost <= cost:
            local, shared = moved, moved_shared
        if new_cost >= cost * (1 - _SETTLED_COST) - 1e-20 or change < _SETTLED:
            break
        cost = new_cost
    _, _, covariance = _newton(whole, local, shared, prior=prior)
    extra = 0 if prior is None else int(np.isfinite(prior.sd_per_mm).sum())
    return Fit(
        local[:, 0],
        local[:, 1],
        covariance,
        _cost(whole, local, shared, prior=prior),
        whole.values.size + extra - local.size,
        tuple(float(v) for v in shared[:-1] / whole.shared_sd[:-1]),
    )


def _sum_of(tabs: TabSet, contacts: tuple[str, ...]) -> _Sum:
    values, counts = [tabs.black_tile, tabs.white_tile], list(tabs.tile_readings)
    for tab in tabs.tabs:
        values += [tab.over_black, tab.over_white]
        counts += tab.readings
    sd = np.broadcast_to(tabs.reading_sd / np.sqrt(counts), (len(values[0]), len(values)))
    shared = [tab.thickness_sd_mm for tab in tabs.tabs] + [max(tabs.calibration_sd, _LEAST)]
    return _Sum(tabs, contacts, np.stack(values, axis=1), sd, np.array(shared))


def _cost(whole: _Sum, local: Floats, shared: Floats, *, prior: Prior | None) -> float:
    off = (whole.values - whole.predicted(local, shared)) / whole.sd
    total = float(np.sum(off**2) + np.sum((shared / whole.shared_sd) ** 2))
    if prior is not None:
        total += float(np.sum(((prior.scattering_per_mm - local[:, 1]) / prior.sd_per_mm) ** 2))
    return total


def _shortened(
    whole: _Sum, place: tuple[Floats, Floats], way: tuple[Floats, Floats], *, prior: Prior | None
) -> tuple[Floats, Floats, float]:
    """A Newton step, cut so that nothing turns negative, and halved until it lowers the sum."""
    best = _cost(whole, *place, prior=prior)
    length = 1.0
    for _ in range(12):
        moved = _bounded(place[0], length * way[0])
        shared = place[1] + length * way[1]
        cost = _cost(whole, moved, shared, prior=prior)
        if cost < best:
            return moved, shared, cost
        length *= 0.5
    return place[0], place[1], best


def _bounded(local: Floats, step: Floats) -> Floats:
    """Scattering changes by less than a factor a step; absorption stops at 0; tiles stay below 1.1."""
    moved = local + step
    scattering = np.clip(moved[:, 1], local[:, 1] * (1 - _MOST_CHANGE), local[:, 1] * (1 + 3 * _MOST_CHANGE))
    return np.stack(
        [
            np.maximum(moved[:, 0], 0.0),
            np.maximum(scattering, _LEAST),
            np.clip(moved[:, 2], 0.0, 1.1),
            np.clip(moved[:, 3], 0.0, 1.1),
        ],
        axis=1,
    )


def _newton(
    whole: _Sum, local: Floats, shared: Floats, *, prior: Prior | None
) -> tuple[Floats, Floats, Floats]:
    """One Gauss-Newton step of the local and shared unknowns, and the covariance of (K, S).

    The shared unknowns are found from what the local ones of each wavelength cannot explain.
    """
    rows, slope, shared_slope = _linear(whole, local, shared, prior=prior)
    scale = _sizes(local)
    slope = slope * scale[:, None, :]
    inverse, squared = _pseudo(slope)
    carried = inverse @ shared_slope
    seen = shared_slope - slope @ carried
    left = rows - np.einsum("wmp,wp->wm", slope, np.einsum("wpm,wm->wp", inverse, rows))
    normal = np.einsum("wmq,wmr->qr", seen, seen) + np.diag(1.0 / whole.shared_sd**2)
    known = np.linalg.inv(normal)
    drift = known @ (np.einsum("wmq,wm->q", seen, left) - shared / whole.shared_sd**2)
    step = np.einsum("wpm,wm->wp", inverse, rows - shared_slope @ drift) * scale
    covariance = squared + np.einsum("wpq,qr,wsr->wps", carried, known, carried)
    covariance = covariance * scale[:, :, None] * scale[:, None, :]
    return step, drift, covariance[:, :2, :2]


def _linear(
    whole: _Sum, local: Floats, shared: Floats, *, prior: Prior | None
) -> tuple[Floats, Floats, Floats]:
    """Residuals (31, m) and their slopes (31, m, 4), (31, m, n + 1), all in standard deviations."""
    rows = (whole.values - whole.predicted(local, shared)) / whole.sd
    slope = _slopes(lambda p: whole.predicted(p, shared) / whole.sd, local, _sizes(local))
    found = []
    for j, size in enumerate(whole.shared_sd):
        step = np.zeros_like(shared)
        step[j] = _STEP * size
        change = whole.predicted(local, shared + step) - whole.predicted(local, shared - step)
        found.append(change / (2 * step[j]) / whole.sd)
    shared_slope = np.stack(found, axis=2)
    if prior is None:
        return rows, slope, shared_slope
    weight = 1.0 / prior.sd_per_mm
    rows = np.column_stack([rows, (prior.scattering_per_mm - local[:, 1]) * weight])
    known = (weight[:, None] * np.array([0.0, 1.0, 0.0, 0.0]))[:, None, :]
    blank = np.zeros((len(rows), 1, shared_slope.shape[2]))
    return rows, np.concatenate([slope, known], axis=1), np.concatenate([shared_slope, blank], axis=1)


def _sizes(local: Floats) -> Floats:
    """(31, 4) the size of a noticeable change of each local unknown."""
    scattering = local[:, 1]
    return np.stack(
        [
            np.maximum(local[:, 0], 1e-3 * scattering),
            scattering,
            np.full_like(scattering, 0.1),
            np.ones_like(scattering),
        ],
        axis=1,
    )


def _slopes(predicted: Callable[[Floats], Floats], local: Floats, sizes: Floats) -> Floats:
    """(31, m, 4) derivative of the readings in the local unknowns, one-sided where absorption is 0."""
    found = []
    for j in range(local.shape[1]):
        step = np.zeros_like(local)
        step[:, j] = _STEP * sizes[:, j]
        low = np.maximum(local - step, 0.0)
        span = (local + step - low)[:, j]
        found.append((predicted(local + step) - predicted(low)) / span[:, None])
    return np.stack(found, axis=2)


def _pseudo(slope: Floats) -> tuple[Floats, Floats]:
    """(31, 4, m) least-squares inverse and (31, 4, 4) its square; directions without any light are damped."""
    left, strength, right = np.linalg.svd(slope, full_matrices=False)
    kept = np.maximum(strength, 1e-9 * strength[:, :1])
    inverse = np.einsum("wkp,wk,wmk->wpm", right, 1.0 / kept, left)
    squared = np.einsum("wkp,wk,wks->wps", right, 1.0 / kept**2, right)
    return inverse, squared
