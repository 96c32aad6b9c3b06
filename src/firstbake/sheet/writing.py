"""Writing the sheet: from a plan to everything that stands on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import firstbake
from firstbake.sheet.cautions import at_the_foot, known
from firstbake.sheet.drawings import drawings_of
from firstbake.sheet.lead import lead_of
from firstbake.sheet.sheet import Head, Sheet
from firstbake.sheet.steps import steps_of
from firstbake.sheet.tables import calliper_rows, colour_rows, firing_rows, mix_rows
from firstbake.sheet.warnings import warned
from firstbake.sheet.words import number, sentence, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

PREVAIL = "Planning aid: maker's instructions, local rules and the prescribing dentist come first."


def write_sheet(plan: Plan) -> Sheet:
    """The bench sheet of a plan, as values."""
    case = plan.case
    steps = steps_of(plan)
    return Sheet(
        head=_head(plan),
        lead=lead_of(plan.room),
        lead_ok=not plan.room.thin,
        steps=steps,
        callipers=calliper_rows(plan),
        mix=mix_rows(plan),
        firing=firing_rows(plan),
        colour=colour_rows(plan),
        warnings=warned(plan),
        cautions=at_the_foot(
            known(case.core_material, case.powders), plan.firing, {step.caution for step in steps}
        ),
        lots=(f"core: {case.core_material.name}", *(m.powder for m in plan.mix), "liquid"),
        notes=_notes(plan),
        prevail=PREVAIL,
        drawings=drawings_of(plan),
    )


def _head(plan: Plan) -> Head:
    case = plan.case
    demo = case.demo or case.core_material.demo or any(p.demo for p in case.powders)
    return Head(
        code=case.code,
        tooth_number=case.tooth.number,
        tooth=case.tooth.words,
        core=case.core_material.name,
        bake_number=1,
        version=firstbake.__version__,
        source=case.source,
        demo=demo,
    )


def _notes(plan: Plan) -> tuple[str, ...]:
    """How the figures were found."""
    case, room = plan.case, plan.room
    found = [
        f"Green shape: {plan.green.model}, mass closed by {number(plan.green.mass_closure, 4)}.",
        f"Axes: {plan.frame.method}, confidence {number(plan.frame.confidence, 1)}.",
        f"Veneer {with_unit(room.volume_mm3, 0, 'mm³')} fired, "
        f"{with_unit(plan.green.volume_mm3, 0, 'mm³')} green.",
        f"Slab waste {number(100 * case.allowances.slab_waste, 0)} %, "
        f"grind-off {with_unit(case.allowances.grind_off_mm, 2, 'mm')}, "
        f"contacts {with_unit(case.allowances.contact_mm, 2, 'mm')}.",
        "± is one standard deviation. Colours: CIELAB D65 2°, previews.",
    ]
    if case.source != "meshes":
        doubt = with_unit(case.size_doubt_mm, 2, "mm")
        found.insert(0, sentence(f"shapes from {case.source}, each length ± {doubt}"))
    return tuple(found)
