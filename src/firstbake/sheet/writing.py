"""Writing the sheet: from a plan to everything that stands on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import firstbake
from firstbake.colour import name_of
from firstbake.sheet.cautions import FOOTNOTE, at_step, at_the_foot, cooling_line, known
from firstbake.sheet.contacts import contact_rows
from firstbake.sheet.drawings import drawings_of
from firstbake.sheet.lead import lead_of, second_of, short_places, zone_word
from firstbake.sheet.recipe_rows import recipe_line, recipe_rows
from firstbake.sheet.sheet import Head, Sheet
from firstbake.sheet.steps import steps_of
from firstbake.sheet.tables import calliper_rows, colour_rows, firing_rows, mix_rows
from firstbake.sheet.warnings import colour_notes, warned
from firstbake.sheet.words import lab_words, number, sentence, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_SURE_AXES = 0.8  # below this confidence the drawings ask for a look

PREVAIL = "Planning aid: maker's instructions, local rules and the prescribing dentist come first."


def write_sheet(plan: Plan) -> Sheet:
    """The bench sheet of a plan, as values."""
    case = plan.case
    core, found = case.core_material, known(case.core_material, case.powders)
    return Sheet(
        head=_head(plan),
        lead=lead_of(plan.room, case=case, frame=plan.frame),
        second=second_of(plan),
        lead_ok=not short_places(plan.room),
        steps=steps_of(plan),
        callipers=calliper_rows(plan),
        contacts=contact_rows(plan),
        mix=mix_rows(plan),
        firing=firing_rows(plan),
        bakes=_count(plan),
        firing_care=" ".join(at_step("firing table", found)),
        cooling=cooling_line(plan.firing, core),
        colour=colour_rows(plan),
        colour_notes=colour_notes(plan),
        warnings=warned(plan),
        cautions=at_the_foot(found, metal=core.kind == "metal"),
        lots=(core.name, *(m.powder for m in plan.mix), "liquid", "stain", "glaze"),
        notes=_notes(plan),
        prevail=PREVAIL,
        drawings=drawings_of(plan),
        recipe=recipe_rows(plan),
        recipe_line=recipe_line(plan),
    )


def _head(plan: Plan) -> Head:
    case = plan.case
    cards = case.core_material.demo or any(p.demo for p in case.powders)
    badge = "DEMO: invented case" if case.demo else "DEMO POWDERS: not for a patient" if cards else ""
    doubtful = plan.frame.confidence < _SURE_AXES
    return Head(
        code=case.code,
        tooth_number=case.tooth.number,
        tooth=case.tooth.words,
        core=_core_words(case.core_material.name, case.core_material.kind),
        ordered=_ordered(plan),
        version=firstbake.__version__,
        source=case.source,
        badge=badge,
        axes=f"check mesial and {case.tooth.outer_word}" if doubtful else "",
    )


def _core_words(name: str, kind: str) -> str:
    """ "tinted zirconia core" from "zirconia-tinted"."""
    parts = name.split("-")
    if kind in parts and parts[-1] != kind and len(parts) > 1:
        parts.remove(kind)
        return f"{' '.join([*parts, kind])} core"
    return f"{name} core"


def _ordered(plan: Plan) -> str:
    """Ordered colours by zone and the stump, in words and figures."""
    target, edge = plan.case.target, plan.case.tooth.edge_word
    zones = (("cervical", target.cervical), ("body", target.body), ("incisal", target.incisal))
    told = [f"{zone_word(zone, edge)} {name_of(lab)}" for zone, lab in zones if lab is not None]
    if not told:
        told.append("no colour")
    stump = "not given" if target.stump is None else f"{name_of(target.stump)} ({lab_words(target.stump)})"
    return f"ordered: {', '.join(told)} · stump {stump}"


def _count(plan: Plan) -> str:
    """How many bakes with porcelain there are."""
    porcelain = [p for p in plan.firing if p.bake not in ("oxidise", "correction")]
    noun = "bake" if len(porcelain) == 1 else "bakes"
    more = ", a correction if needed" if any(p.bake == "correction" for p in plan.firing) else ""
    return f"{len(porcelain)} porcelain {noun}{more}."


def _notes(plan: Plan) -> tuple[str, ...]:
    """How the figures were found."""
    case, room = plan.case, plan.room
    fired = sum(m.placed_g / _density(plan, m.powder) for m in plan.mix) * 1e3
    found = [
        f"± is one standard deviation (sd); {FOOTNOTE}.",
        _green_words(plan),
        f"Porcelain {with_unit(plan.green.volume_mm3, 0, 'mm³')} built, "
        f"{with_unit(fired, 0, 'mm³')} fired, "
        f"{with_unit(room.volume_mm3, 0, 'mm³')} ground.",
        f"Slab waste {number(100 * case.allowances.slab_waste, 0)} %, "
        f"to grind off {with_unit(case.allowances.grind_off_mm, 2, 'mm')}, "
        f"extra at contacts {with_unit(case.allowances.contact_mm, 2, 'mm')}.",
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
        f"Overbuild by {green.model}; {body.name} shrinks {number(shrinkage, 0)} % of its volume "
        f"({body.green_relative_density.status})"
    )
    if green.edge_per_sd_mm is not None:
        shift = with_unit(green.edge_per_sd_mm, 2, "mm")
        words += f"; one sd of packing moves the edge by {shift}"
    return f"{words}."
