"""The search: for every set of powders the best layering of all zones together."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import PERCEPTIBLE_DELTA_E00, delta_e00
from firstbake.recipe.asked import SLOTS, Asked, Lab, PowderSet
from firstbake.recipe.batch import Batch, batch_of, labs, labs_and_slopes
from firstbake.recipe.grid import Tables, choices_of, grid_labs, nearest_rows
from firstbake.recipe.polish import polish
from firstbake.recipe.robust import expected_difference, scatter_of

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

#: A stack may lie this much further from the target than the nearest one when it forgives more: a fifth
#: of what half of observers see.
FORGIVING_DELTA_E00 = 0.2 * PERCEPTIBLE_DELTA_E00
_STARTS = 2
_SHOWS_STEP = 1e-9


@dataclass(frozen=True, eq=False)
class ZoneFit:
    """One zone of one recipe.

    slots_mm : (6,) thickness by role of SLOTS, mm      lab : CIELAB      delta_e00 : CIEDE2000 to the target
    nearest_delta_e00 : of the nearest stack these powders allow, forgiving or not
    robust_delta_e00 : expected under layering scatter
    stump_delta_e00  : how much the colour differs from that over an ordinary stump; None where none shows
    """

    asked: Asked
    powders: PowderSet
    slots_mm: Floats
    lab: Lab
    delta_e00: float
    nearest_delta_e00: float
    robust_delta_e00: float
    stump_delta_e00: float | None

    @property
    def layers_mm(self) -> tuple[tuple[str, float], ...]:
        """(powder, mm) from the core outward; at a free edge the enamel of both sides together."""
        return tuple(
            (i.name, float(self.slots_mm[SLOTS.index(i.role)]))
            for i in self.powders.ingredients
            if self.slots_mm[SLOTS.index(i.role)] > 0
        )


@dataclass(frozen=True, eq=False)
class Ranked:
    """The best layering of one set of powders over all zones.

    robust_delta_e00 : root mean square over the zones      worst_delta_e00 : of the zone furthest off
    """

    powders: PowderSet
    zones: tuple[ZoneFit, ...]
    robust_delta_e00: float
    worst_delta_e00: float


def search(
    zones: Sequence[Asked], sets: Sequence[PowderSet], *, geometry: str, hide_delta_e00: float | None = None
) -> tuple[Ranked, ...]:
    """Best layering of all zones for each set of powders, best set first.

    geometry       : how the targets were looked at, one of colour.GEOMETRIES
    hide_delta_e00 : stacks that let a stump show by more than this are left out as long as the set has others
    returns : by rising robust difference; a set that does not fit into the room of every zone is left out
    method  : every stack in steps of 0.05 mm, the nearest two polished with the exact slope, and of what
              lies within FORGIVING_DELTA_E00 of the nearest the one that forgives most
    """
    tables = Tables()
    per_zone = [
        _zone_fits(asked, sets, geometry=geometry, hide=hide_delta_e00, tables=tables) for asked in zones
    ]
    found = []
    for k, powders in enumerate(sets):
        fits = [fit for zone in per_zone if (fit := zone[k]) is not None]
        if not zones or len(fits) < len(zones):
            continue
        joint = float(np.sqrt(np.mean([fit.robust_delta_e00**2 for fit in fits])))
        worst = max(fit.delta_e00 for fit in fits)
        found.append(Ranked(powders, tuple(fits), joint, worst))
    return tuple(sorted(found, key=lambda ranked: ranked.robust_delta_e00))


def _zone_fits(
    asked: Asked, sets: Sequence[PowderSet], *, geometry: str, hide: float | None, tables: Tables
) -> list[ZoneFit | None]:
    batch = batch_of([(asked, powders) for powders in sets], geometry=geometry)
    other = None
    if asked.ordinary is not None:
        plain = replace(asked, end=asked.ordinary)
        other = batch_of([(plain, powders) for powders in sets], geometry=geometry)
    rows, starts = _starts(asked, sets, batch, other=other, hide=hide, tables=tables)
    found: list[ZoneFit | None] = [None] * len(sets)
    if not len(rows):
        return found
    least, most = _limits(sets, rows, starts)
    targets = np.tile(np.asarray(asked.target, dtype=np.float64), (len(rows), 1))
    better = polish(batch.rows(rows), starts, targets=targets, least_mm=least, most_mm=most)
    tried = np.concatenate([better, starts])
    rows = np.concatenate([rows, rows])
    return _chosen(asked, sets, batch, other=other, hide=hide, rows=rows, slots_mm=tried)


def _starts(
    asked: Asked,
    sets: Sequence[PowderSet],
    batch: Batch,
    *,
    other: Batch | None,
    hide: float | None,
    tables: Tables,
) -> tuple[Rows, Floats]:
    """Sets (as rows) and thicknesses of the nearest stacks on the grid, a few of each set."""
    choices = [choices_of(asked, powders, tables) for powders in sets]
    kept = [k for k, rows in enumerate(choices) if len(rows.slots_mm)]
    if not kept:
        return np.zeros(0, dtype=np.int64), np.zeros((0, len(SLOTS)))

    def colours(of: Batch) -> Floats:
        return np.concatenate(
            [grid_labs(of, k, asked=asked, powders=sets[k], choices=choices[k], tables=tables) for k in kept]
        )

    lab = colours(batch)
    score = delta_e00(lab, asked.target)
    if other is not None and hide is not None:
        shows = delta_e00(lab, colours(other)) > hide
        score = score + 1e3 * shows
    rows, starts, at = [], [], 0
    for k in kept:
        near = nearest_rows(score[at : at + len(choices[k].slots_mm)], _STARTS)
        rows.append(np.full(len(near), k))
        starts.append(choices[k].slots_mm[near])
        at += len(choices[k].slots_mm)
    return np.concatenate(rows), np.concatenate(starts)


def _limits(sets: Sequence[PowderSet], rows: Rows, starts: Floats) -> tuple[Floats, Floats]:
    """(p, 6) limits of every start; a powder that is missing there stays missing."""
    low, high = np.zeros((2, len(sets), len(SLOTS)))
    for k, powders in enumerate(sets):
        for i in powders.ingredients:
            low[k, SLOTS.index(i.role)], high[k, SLOTS.index(i.role)] = i.least_mm, i.most_mm
    none = starts <= _SHOWS_STEP
    return np.where(none, 0.0, low[rows]), np.where(none, 0.0, high[rows])


def _chosen(
    asked: Asked,
    sets: Sequence[PowderSet],
    batch: Batch,
    *,
    other: Batch | None,
    hide: float | None,
    rows: Rows,
    slots_mm: Floats,
) -> list[ZoneFit | None]:
    """Of all that was tried for each set the stack to take."""
    many = batch.rows(rows)
    lab, slopes = labs_and_slopes(many, slots_mm)
    targets = np.broadcast_to(np.asarray(asked.target, dtype=np.float64), lab.shape)
    near = delta_e00(lab, targets)
    robust = expected_difference(lab, targets, scatter_of(many.layers_mm(slots_mm), slopes))
    shows = None if other is None else delta_e00(lab, labs(other.rows(rows), slots_mm))
    penalty = np.zeros(len(rows))
    if shows is not None and hide is not None:
        penalty = np.where(shows > hide, 1e3, 0.0)
    found: list[ZoneFit | None] = [None] * len(sets)
    for k, powders in enumerate(sets):
        mine = np.flatnonzero(rows == k)
        if not len(mine):
            continue
        cost = near[mine] + penalty[mine]
        close = mine[cost <= cost.min() + FORGIVING_DELTA_E00]
        best = int(close[np.argmin(robust[close])])
        found[k] = ZoneFit(
            asked,
            powders,
            slots_mm[best],
            (float(lab[best, 0]), float(lab[best, 1]), float(lab[best, 2])),
            float(near[best]),
            float(near[mine[np.argmin(cost)]]),
            float(robust[best]),
            None if shows is None else float(shows[best]),
        )
    return found
