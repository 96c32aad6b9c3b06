"""The recipe on the sheet: one row a zone, and a line that says which recipe it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstbake.sheet.lead import zone_word
from firstbake.sheet.sheet import RecipeRow
from firstbake.sheet.words import number

if TYPE_CHECKING:
    from firstbake.crown import Plan


def recipe_rows(plan: Plan) -> tuple[RecipeRow, ...]:
    """One row a zone; none where the plan lays its usual layers."""
    if plan.recipe is None or not plan.case.use_recipe:
        return ()
    roles = {powder.name: powder.role for powder in plan.recipe.powders}
    edge = plan.case.tooth.edge_word
    return tuple(
        RecipeRow(
            zone=zone_word(zone.zone, edge),
            layers=", ".join(f"{roles[name]} {number(mm, 2)}" for name, mm in zone.layers_mm)
            + (", back to front" if zone.free else ""),
            delta_e00=zone.delta_e00,
            robust_delta_e00=zone.robust_delta_e00,
            doubt_delta_e00=zone.difference_doubt_delta_e00,
            verdict=zone.verdict,
        )
        for zone in plan.recipe.zones
    )


def recipe_line(plan: Plan) -> str:
    """Which recipe it is, "" where the plan lays its usual layers."""
    if plan.recipe is None or not plan.case.use_recipe:
        return ""
    return (
        f"best of {plan.recipe.tried} sets of powders, mm at the middle of each zone; expected: boundaries "
        "out by 0.05 mm"
    )
