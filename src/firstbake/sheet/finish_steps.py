"""Steps after the build: main bake, fit, correction, texture, glaze, polish, dispatch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstbake.sheet.cautions import at_step
from firstbake.sheet.draft import bake_step, hazards_of, main_bake
from firstbake.sheet.sheet import Step
from firstbake.sheet.words import with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_STAGE = "finish"


def finish_steps(plan: Plan) -> list[Step]:
    """Everything from the main bake on; texture stands before the glaze, or last where there is none."""
    main = main_bake(plan.firing)
    later = [bake_step(plan, row, stage=_STAGE) for row in range(main + 1, len(plan.firing))]
    names = [p.bake for p in plan.firing[main + 1 :]]
    later.insert(names.index("glaze") if "glaze" in names else len(later), _texture(plan))
    first = [bake_step(plan, main, stage=_STAGE)] if plan.firing else []
    return [*first, _fit(plan), *later, _polish(plan), _end()]


def _fit(plan: Plan) -> Step:
    clear = plan.room.least_clearance_mm
    bite = "bite (not known: no opposing)" if clear is None else f"bite ({with_unit(clear, 2, 'mm')} free)"
    details = (
        "Margin, inside. Compare with “furnace”, write it down.",
        f"Then contacts, length, {plan.frame.tooth.outer_word} planes, {bite}.",
    )
    found = hazards_of(plan)
    return Step("Seat, measure, grind", details, caution=" ".join(at_step("grind", found)), stage=_STAGE)


def _texture(plan: Plan) -> Step:
    lines = "Growth lines, lobes" if plan.frame.tooth.is_front else "Fissures, ridges"
    details = (f"{lines}, worn facets as on the neighbour; look wet and dry.",)
    return Step("Texture and lustre", details, stage=_STAGE)


def _polish(plan: Plan) -> Step:
    core = " and bare core" if plan.case.core_material.kind in ("zirconia", "metal") else ""
    details = (f"Contacts{core} to high gloss. Seat again: margin, inside, contacts, bite.",)
    return Step("Polish, check the fit", details, stage=_STAGE)


def _end() -> Step:
    details = ("Against the order, under two lights; lots written in.",)
    return Step("Check, disinfect, sign", details, stage=_STAGE)
