"""Writing the sheet: from a plan to everything that stands on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import firstbake
from firstbake.sheet.cautions import at_the_foot, known
from firstbake.sheet.drawings import drawings_of
from firstbake.sheet.lead import counted, plan_lead, second_lead
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
        lead=plan_lead(plan),
        second=second_lead(plan),
        lead_ok=not counted(plan.room.thin),
        steps=steps,
        callipers=calliper_rows(plan),
        mix=mix_rows(plan),
        firing=firing_rows(plan),
        colour=colour_rows(plan),
        warnings=warned(plan),
        cautions=at_the_foot(
            known(case.core_material, case.powders), plan.firing, {step.caution for step in steps}
        ),
        lots=(
            f"core: {case.core_material.name}",
            *(m.powder for m in plan.mix),
            "liquid",
            "stain, glaze",
            "bakes done, top °C",
        ),
        notes=_notes(plan),
        prevail=PREVAIL,
        drawings=drawings_of(plan),
    )


def _head(plan: Plan) -> Head:
    case = plan.case
    cards = case.core_material.demo or any(p.demo for p in case.powders)
    badge = "DEMO: invented case" if case.demo else "DEMO POWDERS: not for a patient" if cards else ""
    return Head(
        code=case.code,
        tooth_number=case.tooth.number,
        tooth=case.tooth.words,
        core=case.core_material.name,
        bake_number=1,
        version=firstbake.__version__,
        source=case.source,
        demo=badge,
        frame_note="" if plan.frame.confidence >= 0.8 else "Check mesial and labial: found from shape alone.",
    )


def _notes(plan: Plan) -> tuple[str, ...]:
    """How the figures were found."""
    case, room = plan.case, plan.room
    fired = sum(m.placed_g / _density(plan, m.powder) for m in plan.mix) * 1e3
    found = [
        _green_words(plan),
        f"Porcelain {with_unit(plan.green.volume_mm3, 0, 'mm³')} built, "
        f"{with_unit(fired, 0, 'mm³')} out of the furnace, "
        f"{with_unit(room.volume_mm3, 0, 'mm³')} after grinding.",
        f"Slab waste {number(100 * case.allowances.slab_waste, 0)} %, "
        f"grind-off {with_unit(case.allowances.grind_off_mm, 2, 'mm')}, "
        f"contacts {with_unit(case.allowances.contact_mm, 2, 'mm')}.",
        _doubt_words(plan),
        f"Tooth axes: {plan.frame.method}. * usual precaution.",
    ]
    if case.source != "meshes":
        doubt = with_unit(case.size_doubt_mm, 2, "mm")
        found.insert(0, sentence(f"shapes from {case.source}, each length ± {doubt}"))
    return tuple(found)


def _density(plan: Plan, powder: str) -> float:
    """Fired density of a powder of the plan, g/cm³."""
    return next(p.fired_density_g_per_cm3 for p in plan.case.powders if p.name == powder)


def _green_words(plan: Plan) -> str:
    """Which law the overbuild comes from, the shrinkage used, and what packing does to the edge."""
    green, body = plan.green, next(p for p in plan.case.powders if p.role == "dentine")
    shrinkage = 100 * (1 - 1 / body.volume_factor)
    words = (
        f"Overbuild by {green.model}; {body.name} shrinks {number(shrinkage, 1)} % of its volume "
        f"({body.green_relative_density.status})"
    )
    if green.edge_per_sd_mm is not None:
        shift = with_unit(green.edge_per_sd_mm, 2, "mm")
        words += f"; one standard deviation of packing moves the edge by {shift}"
    return f"{words}."


def _doubt_words(plan: Plan) -> str:
    """The doubt of the lengths to build to, which the narrow table does not hold row by row."""
    doubts = [c.doubt_mm for c in plan.callipers]
    if not doubts:
        return "± is one standard deviation."
    span = f"{number(min(doubts), 2)} to {with_unit(max(doubts), 2, 'mm')}"
    return f"Lengths to build to are good to ± {span}; ± is one standard deviation."
