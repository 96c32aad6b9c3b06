"""Steps on the core before the build: oxide, liner, opaque, each coat before its bake."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstbake.layering import Layer
from firstbake.sheet.draft import BASE, bake_step, layers_of, main_bake, mixes_of, span_of
from firstbake.sheet.sheet import Step
from firstbake.sheet.words import listed, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_BASE_METALS = ("nickel", "cobalt", "chromium")


def coat_steps(plan: Plan) -> list[Step]:
    """Oxide, liner and opaque, each coat before the bake that is named like it."""
    before = plan.firing[: main_bake(plan.firing)]
    waiting = layers_of(plan, BASE)
    steps: list[Step] = []
    for row, programme in enumerate(before):
        words = f"{programme.bake} {programme.purpose}".lower()
        due = [layer for layer in waiting if layer.powder.role in words or row == len(before) - 1]
        washed = programme.bake == "wash" and any(p.bake == "opaque" for p in before[row + 1 :])
        steps += [_wash(plan, layer) if washed else _coat(plan, layer) for layer in due]
        if programme.bake == "opaque" and not due:
            steps.append(_second_coat(plan))
        waiting = [layer for layer in waiting if layer not in due]
        steps.append(bake_step(plan, row, stage="prepare"))
        if programme.bake == "oxidise":
            steps.append(_blast(plan))
    return steps + [_coat(plan, layer) for layer in waiting]


def weigh(plan: Plan, layers: list[Layer], *, mixed: str = "mix fresh") -> str:
    """Grams and millilitres to put on the slab for these layers."""
    told = [
        f"{m.powder} {with_unit(m.powder_g, 2, 'g')} with {with_unit(m.liquid_ml, 2, 'ml')}"
        for m in mixes_of(plan, layers)
    ]
    return f"Weigh {listed(told)}, {mixed}." if told else ""


def grams(plan: Plan, layers: list[Layer]) -> str:
    """Grams to lay on for these layers."""
    return f"lay {with_unit(sum(m.lay_g for m in mixes_of(plan, layers)), 2, 'g')}"


def _blast(plan: Plan) -> Step:
    """What follows on the oxide: base metals make too much of it (common practice)."""
    base = any(metal in plan.case.core_material.holds for metal in _BASE_METALS)
    oxide = "Blast it thin" if base else "Even and matt it stays; blast only if its maker says so"
    what = "Blast and clean the oxide" if base else "Clean the oxide"
    return Step(what, (f"{oxide}. Steam, dry, tweezers only. Patches: start again.",))


def _coat(plan: Plan, layer: Layer) -> Step:
    details = (weigh(plan, [layer]), f"{span_of(plan, layer)} fired, even, none pooled in corners or inside.")
    return Step(f"Lay on {layer.powder.role}", details, grams(plan, [layer]))


def _wash(plan: Plan, layer: Layer) -> Step:
    """The first of two coats wets the metal; the second hides it."""
    details = (
        weigh(plan, [layer], mixed="for both coats; mix a third now"),
        "Thin and soupy, worked into the metal.",
    )
    return Step(f"Lay on the wash coat of {layer.powder.role}", details, grams(plan, [layer]))


def _second_coat(plan: Plan) -> Step:
    layer = layers_of(plan, ("opaque",))[:1]
    thick = f"{span_of(plan, layer[0])} fired with the first, " if layer else ""
    return Step("Lay on the second opaque coat", (f"The rest, mixed fresh: {thick}no metal to be seen.",))
