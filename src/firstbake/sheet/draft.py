"""Draft: a step before its caution is chosen, and the sums that several steps share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstbake.layering import Layer
from firstbake.sheet.words import number, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

BASE = ("liner", "opaque")  # laid and baked before the build
INNER = ("opaque-dentine", "dentine", "margin")
OUTER = ("enamel", "transparent")


@dataclass(frozen=True)
class Draft:
    """A step before its caution is chosen; cautions: candidates, best first."""

    what: str
    details: tuple[str, ...]
    amount: str = ""
    cautions: tuple[str, ...] = ()
    stage: str = "build"


def layers_of(plan: Plan, roles: tuple[str, ...]) -> list[Layer]:
    """The plan's layers of these roles in building order."""
    rows = sorted(plan.layers.layers, key=lambda layer: layer.order)
    return [layer for layer in rows if layer.powder.role in roles]


def laid_g(plan: Plan, layers: list[Layer]) -> float:
    """Grams of these layers that are laid on."""
    names = {layer.powder.name for layer in layers}
    return sum(m.lay_g for m in plan.mix if m.powder in names)


def weighed(plan: Plan, layers: list[Layer]) -> str:
    """ "Weigh demo-dentine-1 0.46 g with 0.13 ml, mix fresh." """
    names = {layer.powder.name for layer in layers}
    rows = [m for m in plan.mix if m.powder in names]
    listed = ", ".join(
        f"{m.powder} {with_unit(m.powder_g, 2, 'g')} with {with_unit(m.liquid_ml, 2, 'ml')}" for m in rows
    )
    return f"Weigh {listed}; mix fresh." if rows else ""


def span(plan: Plan, layer: Layer) -> str:
    """The usual span of a layer's thickness, 5th to 95th share of its veneered vertices."""
    thick = layer.thickness_mm[plan.room.veneered & (layer.thickness_mm > 0)]
    if len(thick) == 0:
        return with_unit(0.0, 2, "mm")
    low, high = np.percentile(thick, [5, 95])
    if high - low < 0.02:
        return with_unit(float(high), 2, "mm")
    return f"{number(float(low), 2)} to {with_unit(float(high), 2, 'mm')}"
