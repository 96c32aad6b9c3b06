"""Draft: what the steps of build and finish share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstbake.firing import Programme
from firstbake.green import Mix
from firstbake.layering import Layer
from firstbake.sheet.cautions import at_step, known, own_of
from firstbake.sheet.sheet import Step
from firstbake.sheet.words import number, sentence, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

BASE = ("liner", "opaque")  # laid and baked before the build
OUTER = ("enamel", "transparent")
_MAIN_WORDS = ("main", "dentine", "first build")
_DRY = ("oxidise",)  # bakes without anything wet on the core


def hazards_of(plan: Plan) -> dict[str, str]:
    """Caution with its source by hazard."""
    return known(plan.case.core_material, plan.case.powders)


def layers_of(plan: Plan, roles: tuple[str, ...]) -> list[Layer]:
    """Layers of these roles in the building order."""
    rows = sorted(plan.layers.layers, key=lambda layer: layer.order)
    return [layer for layer in rows if layer.powder.role in roles]


def mixes_of(plan: Plan, layers: list[Layer]) -> list[Mix]:
    """What to mix for these layers."""
    names = {layer.powder.name for layer in layers}
    return [m for m in plan.mix if m.powder in names]


def main_bake(firing: tuple[Programme, ...]) -> int:
    """Row of the bake that fires the build: the first one named so, else the first of all."""
    named = (row for row, p in enumerate(firing) if any(word in p.bake.lower() for word in _MAIN_WORDS))
    return next(named, 0)


def span_of(plan: Plan, layer: Layer) -> str:
    """The usual span of a layer's thickness, 5th to 95th share of its veneered vertices."""
    thick = layer.thickness_mm[plan.room.veneered & (layer.thickness_mm > 0)]
    if len(thick) == 0:
        return with_unit(0.0, 2, "mm")
    low, high = np.percentile(thick, [5, 95])
    if high - low < 0.02:
        return with_unit(float(high), 2, "mm")
    return f"{number(float(low), 2)} to {with_unit(float(high), 2, 'mm')}"


def bake_step(plan: Plan, row: int, *, stage: str) -> Step:
    """One bake, with the cautions of the first bake of its kind and its own."""
    p, case = plan.firing[row], plan.case
    wet = [k for k, other in enumerate(plan.firing) if other.bake not in _DRY]
    tied: tuple[str, ...] = own_of(p, case.core_material, case.powders)
    for step, when in (
        ("any bake", row == 0),
        ("wet bake", bool(wet) and row == wet[0]),
        ("correction", p.bake == "correction"),
        ("glaze", p.bake == "glaze"),
    ):
        tied = (*tied, *at_step(step, hazards_of(plan))) if when else tied
    what = f"Bake {row + 1}: {p.bake}"
    if p.bake == "correction":
        what = f"Only if short, bake {row + 1}: correction"
    purpose = sentence(p.purpose.removeprefix("Only if short: ").removeprefix("what is missing, "))
    return Step(what, (purpose,), with_unit(p.peak_degC, 0, "°C"), " ".join(tied), stage=stage)
