"""Every stack of a set of powders in steps of 0.05 mm, and its colour.

Reflectance and transmittance of a layer are worked out once for each thickness on the grid and then only
looked up, so that no exponential is taken inside the combinations.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import lab_from_xyz, layer, over, weights_of
from firstbake.recipe.asked import DENTINE, ON_CORE, SLOTS, Asked, Ingredient, PowderSet
from firstbake.recipe.batch import Batch, places_of_set, share_of, slot_of, spectra_of

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

STEP_MM = 0.05
_TINY_MM = 1e-9


@dataclass(frozen=True, eq=False)
class Choices:
    """Ways to fill the room of one zone: slots_mm (s, 6) by role; found keeps what was looked up in them."""

    slots_mm: Floats
    found: dict[tuple[int, float], tuple[Floats, Rows]] = field(default_factory=dict)

    def different(self, slot: int, factor: float) -> tuple[Floats, Rows]:
        """The different thicknesses of one role times a factor, and which of them each row has."""
        key = (slot, factor)
        if key not in self.found:
            values, where = np.unique(self.slots_mm[:, slot] * factor, return_inverse=True)
            self.found[key] = (values, where)
        return self.found[key]


@dataclass(frozen=True, eq=False)
class Tables:
    """Spectra, layers and choices of thickness that were worked out before, kept between sets."""

    spectra: dict[int, tuple[Floats, Floats]] = field(default_factory=dict)
    layers: dict[tuple[int, bytes], tuple[Floats, Floats]] = field(default_factory=dict)
    choices: dict[tuple[object, ...], Choices] = field(default_factory=dict)

    def layer(self, ingredient: Ingredient, thickness_mm: Floats) -> tuple[Floats, Floats]:
        """(k, w) reflectance and transmittance of that powder at k thicknesses, mm."""
        key = (id(ingredient.optics), thickness_mm.tobytes())
        if key not in self.layers:
            absorption, scattering = spectra_of(ingredient, self.spectra)
            self.layers[key] = layer(absorption, scattering, thickness_mm[:, None])
        return self.layers[key]


def choices_of(asked: Asked, powders: PowderSet, tables: Tables) -> Choices:
    """Every way to fill the room of a zone, mm by role; dentine takes what the others leave.

    Steps of 0.05 mm from the least of each powder to its most; a powder that may be missing also with none.
    No rows when the least of all powders together is more than the room.
    """
    others = [i for i in powders.ingredients if i.role != "dentine" and not _left_out(i, asked)]
    dentine = powders.of("dentine")
    least, most = (dentine.least_mm, dentine.most_mm) if dentine else (0.0, 0.0)
    limits = tuple((i.role, i.least_mm, i.most_mm, i.may_miss, asked.free) for i in others)
    key = (asked.room_mm, asked.free, least, most, limits)
    if key not in tables.choices:
        axes = [_axis(i, asked.room_mm) for i in others]
        mesh = np.meshgrid(*axes, indexing="ij") if axes else []
        rows = np.zeros((mesh[0].size if mesh else 1, len(SLOTS)))
        for ingredient, values in zip(others, mesh, strict=True):
            rows[:, SLOTS.index(ingredient.role)] = values.ravel()
        rows[:, DENTINE] = np.round(asked.room_mm - rows.sum(axis=1), 9)
        kept = (rows[:, DENTINE] >= least - _TINY_MM) & (rows[:, DENTINE] <= most + _TINY_MM)
        tables.choices[key] = Choices(rows[kept])
    return tables.choices[key]


def _left_out(ingredient: Ingredient, asked: Asked) -> bool:
    return asked.free and ingredient.role in ON_CORE


def _axis(ingredient: Ingredient, room_mm: float) -> Floats:
    steps = np.arange(0.0, max(ingredient.most_mm - ingredient.least_mm, 0.0) + _TINY_MM, STEP_MM)
    values = np.round(ingredient.least_mm + steps, 9)
    values = values[values <= room_mm]
    return np.concatenate([[0.0], values]) if ingredient.may_miss else values


def grid_labs(
    batch: Batch, row: int, *, asked: Asked, powders: PowderSet, choices: Choices, tables: Tables
) -> Floats:
    """(s, 3) CIELAB of every choice of one zone and set, row `row` of the batch."""
    seen = batch.base[row]
    share = float(batch.back_share[row])
    for place, ingredient in places_of_set(powders, free=asked.free):
        values, where = choices.different(slot_of(place), share_of(place, share))
        r, t = tables.layer(ingredient, values)
        above, under = float(batch.above[row, place]), float(batch.under[row, place])
        if above or under:
            seen = above + (1.0 - above) * (1.0 - under) * seen / (1.0 - under * seen)
        seen = over(r[where], t[where], seen)
    mirror, passed, inside = (float(v) for v in batch.face[row])
    return lab_from_xyz((mirror + passed * seen / (1.0 - inside * seen)) @ weights_of())


def nearest_rows(values: Sequence[float] | Floats, few: int) -> NDArray[np.int64]:
    """Rows of the `few` smallest values, smallest first."""
    array = np.asarray(values)
    few = min(few, len(array))
    near = np.argpartition(array, few - 1)[:few]
    return np.asarray(near[np.argsort(array[near], kind="stable")])
