"""Steps: the order of work with boxes to tick: what, where, how thick, how many grams."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from firstbake.firing import Programme
from firstbake.layering import Layer
from firstbake.sheet.cautions import (
    INFECTION,
    STAIN,
    for_bake,
    for_core,
    for_dispatch,
    for_grinding,
    known,
    one_line,
)
from firstbake.sheet.draft import BASE, Draft, laid_g, layers_of, span, weighed
from firstbake.sheet.lead import counted
from firstbake.sheet.sheet import Step
from firstbake.sheet.steps_build import building
from firstbake.sheet.words import minutes, sentence, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_MAIN_WORDS = ("main", "dentine", "first build")
_WASH_MM = 0.05  # a thin first coat of opaque; common practice
_CORE_WORK = {
    "zirconia": "Adjust wet and light, clean, then tweezers only.",
    "metal": "Grind in one direction, blast, steam, then tweezers only.",
    "alumina": "Adjust wet and light, clean, then tweezers only.",
    "glass-ceramic": "Remove the reaction layer as the maker says, clean, then tweezers only.",
}  # common practice


def steps_of(plan: Plan) -> tuple[Step, ...]:
    """All steps from the order to dispatch; each caution stands at the first step that wants it."""
    main = _main_bake(plan.firing)
    drafts = [_order(plan), _core(plan), *_mark(plan), *_base(plan, plan.firing[:main]), *building(plan)]
    finish = [_bake(p, row=row) for row, p in enumerate(plan.firing) if row == main]
    finish.append(_fit(plan))
    for row, programme in enumerate(plan.firing[main + 1 :], start=main + 1):
        if programme.bake == "glaze":
            finish.append(_texture())
        finish.append(_bake(programme, row=row))
    finish.append(_end(plan))
    drafts += [replace(draft, stage="finish") for draft in finish]
    steps, shown = [], set[str]()
    for d in drafts:
        caution = next((line for line in map(one_line, d.cautions) if line not in shown), "")
        shown.add(caution)
        steps.append(Step(d.what, d.details, d.amount, caution, d.stage))
    return tuple(steps)


def _main_bake(firing: tuple[Programme, ...]) -> int:
    """Row of the bake that fires the build: the first one named so, else the first of all."""
    named = (row for row, p in enumerate(firing) if any(word in p.bake.lower() for word in _MAIN_WORDS))
    return next(named, 0)


def _order(plan: Plan) -> Draft:
    asked = "Cobalt and nickel: allergy asked? " if plan.case.core_material.kind == "metal" else ""
    bite = "" if plan.case.opposing else " Bite not known: no opposing teeth were given."
    details = (f"{asked}Die seated, margin sealed, neighbours isolated, opposing model there.{bite}",)
    return Draft("Check order and model", details, cautions=(INFECTION,))


def _core(plan: Plan) -> Draft:
    core = plan.case.core_material
    wall = core.least_wall_mm.value
    details = (
        f"Wall at least {with_unit(wall, 2, 'mm')} (taken as {with_unit(plan.case.core_wall_mm, 2, 'mm')}: "
        "check), margin closed, no rocking.",
        _CORE_WORK.get(core.kind, "Clean, then tweezers only."),
    )
    return Draft("Check and clean the core", details, cautions=for_core(known(core, plan.case.powders)))


def _mark(plan: Plan) -> list[Draft]:
    """Where room is short, mark it and choose before any powder is wet."""
    worst = sorted(counted(plan.room.thin), key=lambda region: region.worst_mm)
    if not worst:
        return []
    shown = [f"{with_unit(r.worst_mm, 2, 'mm')} {r.where}" for r in worst[:3]]
    more = f"; {len(worst) - 3} more overleaf" if len(worst) > 3 else ""
    return [Draft("Mark the short places, choose", (f"{'; '.join(shown)}{more}. Choices overleaf.",))]


def _base(plan: Plan, before: tuple[Programme, ...]) -> list[Draft]:
    """Coats baked before the build, each before the bake that is named like it."""
    waiting = layers_of(plan, BASE)
    names = {p.bake for p in before}
    steps: list[Draft] = []
    for row, programme in enumerate(before):
        opaque = [layer for layer in waiting if layer.powder.role == "opaque"]
        if programme.bake == "wash" and opaque:
            steps += [_wash(plan, layer) for layer in opaque]
        else:
            due = [
                layer
                for layer in waiting
                if layer.powder.role == programme.bake
                or (row == len(before) - 1 and layer.powder.role not in names)
            ]
            steps += [_thin(plan, layer, washed="wash" in names) for layer in due]
            waiting = [layer for layer in waiting if layer not in due]
        steps.append(_bake(programme, row=row))
        if programme.bake == "oxidise":
            steps.append(Draft("Blast the oxide thin", ("Even and matt; then steam, tweezers only.",)))
    return steps + [_thin(plan, layer, washed=False) for layer in waiting]


def _wash(plan: Plan, layer: Layer) -> Draft:
    details = (f"{weighed(plan, [layer])} Thin as soup, about {with_unit(_WASH_MM, 2, 'mm')}, no pools.",)
    return Draft("Wash coat of opaque", details)


def _thin(plan: Plan, layer: Layer, *, washed: bool) -> Draft:
    again = washed and layer.powder.role == "opaque"
    what = "Second coat of opaque" if again else f"Lay on {layer.powder.role}"
    total = "in all, fired" if again else "fired"
    weigh = "" if again else f"{weighed(plan, [layer])} "
    details = (f"{weigh}{layer.powder.name} to {span(plan, layer)} {total}, even, no pools in corners.",)
    return Draft(what, details, f"lay {with_unit(laid_g(plan, [layer]), 2, 'g')}")


def _bake(p: Programme, *, row: int) -> Draft:
    dry = f"Dry {minutes(p.dry_s)}" if p.dry_s > 0 else "No drying"
    if p.bake == "correction":
        details = (f"Add what is short. {dry}. More than two corrections is a warning.",)
        return Draft("Only if short: correction", details, with_unit(p.peak_degC, 0, "°C"), for_bake(p))
    details = (f"{sentence(p.purpose)} {dry}; firing table, row {row + 1}.",)
    cautions = (STAIN,) if p.bake == "glaze" else for_bake(p)
    return Draft(f"Bake: {p.bake}", details, with_unit(p.peak_degC, 0, "°C"), cautions)


def _fit(plan: Plan) -> Draft:
    clear = plan.room.least_clearance_mm
    bite = " Bite not known." if clear is None else f" Room to the bite {with_unit(clear, 2, 'mm')}."
    details = (
        "Specks inside? Seat; before grinding compare with “furnace”, write under “mine”. "
        f"Then contacts, length, {plan.frame.tooth.outer_word} planes.{bite}",
    )
    found = known(plan.case.core_material, plan.case.powders)
    return Draft("Seat, measure, grind", details, cautions=for_grinding(found))


def _texture() -> Draft:
    return Draft("Texture and lustre", ("Growth lines, lobes, worn places to match the neighbour.",))


def _end(plan: Plan) -> Draft:
    details = ("Contacts polished, margin and inside clean; against the order, two lights; lots in.",)
    found = known(plan.case.core_material, plan.case.powders)
    return Draft("Check, disinfect, sign", details, cautions=for_dispatch(found))
