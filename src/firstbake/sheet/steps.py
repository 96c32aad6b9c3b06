"""Steps: the order of work with boxes to tick: what, where, how thick, how many grams."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from firstbake.firing import Programme
from firstbake.layering import Layer
from firstbake.sheet.cautions import (
    POWDER,
    TOOL,
    for_bake,
    for_core,
    for_dispatch,
    for_grinding,
    known,
    one_line,
)
from firstbake.sheet.measures import letter_of
from firstbake.sheet.sheet import Step
from firstbake.sheet.words import listed, minutes, number, sentence, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_BASE = ("liner", "opaque")  # laid and baked before the build
_OUTER = ("enamel", "transparent")
_MAIN_WORDS = ("main", "dentine", "first build")
_CORE_WORK = {
    "zirconia": "Adjust wet and light, clean, then tweezers only.",
    "metal": "Grind in one direction, blast, steam, then tweezers only.",
    "alumina": "Adjust wet and light, clean, then tweezers only.",
    "glass-ceramic": "Remove the reaction layer as the maker says, clean, then tweezers only.",
}  # common practice


@dataclass(frozen=True)
class _Draft:
    """A step before its caution is chosen; cautions: candidates, best first."""

    what: str
    details: tuple[str, ...]
    amount: str = ""
    cautions: tuple[str, ...] = ()
    stage: str = "build"


def steps_of(plan: Plan) -> tuple[Step, ...]:
    """All steps from the bare core to dispatch; each caution stands at the first step that wants it."""
    main = _main_bake(plan.firing)
    before, after = plan.firing[:main], plan.firing[main + 1 :]
    drafts = [_core(plan), *_mark(plan), _mix(plan)]
    drafts += _base(plan, before)
    drafts += [_build(plan), *_cut(plan), *_outer(plan), _callipers(plan), _lift(plan)]
    finish = [_bake(p, row=row) for row, p in enumerate(plan.firing) if row == main]
    finish += [_fit(plan)]
    finish += [_bake(p, row=main + 1 + row) for row, p in enumerate(after)]
    finish += [_end(plan)]
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


def _core(plan: Plan) -> _Draft:
    core = plan.case.core_material
    wall = core.least_wall_mm.value
    details = (
        f"Wall at least {with_unit(wall, 2, 'mm')}, margin closed, no rocking.",
        _CORE_WORK.get(core.kind, "Clean, then tweezers only."),
    )
    return _Draft("Check and clean the core", details, cautions=for_core(known(core, plan.case.powders)))


def _mark(plan: Plan) -> list[_Draft]:
    """Where room is short, mark it and choose before any powder is wet."""
    if not plan.room.thin:
        return []
    worst = sorted(plan.room.thin, key=lambda region: region.worst_mm)
    shown = [f"{with_unit(r.worst_mm, 2, 'mm')} {r.where}" for r in worst[:3]]
    more = f"; {len(worst) - 3} more overleaf" if len(worst) > 3 else ""
    return [_Draft("Mark the short places, choose", (f"{'; '.join(shown)}{more}. Choices overleaf.",))]


def _mix(plan: Plan) -> _Draft:
    grams = sum(m.powder_g for m in plan.mix)
    millilitres = sum(m.liquid_ml for m in plan.mix)
    details = (
        f"As in the mix table, {with_unit(millilitres, 2, 'ml')} liquid in all.",
        "Right when it shines on tapping and holds its heap.",
    )
    return _Draft("Mix", details, with_unit(grams, 2, "g"), (POWDER, TOOL))


def _layers(plan: Plan, roles: tuple[str, ...]) -> list[Layer]:
    return [
        layer for layer in sorted(plan.layers.layers, key=lambda x: x.order) if layer.powder.role in roles
    ]


def _placed_g(plan: Plan, layers: list[Layer]) -> float:
    names = {layer.powder.name for layer in layers}
    return sum(m.placed_g for m in plan.mix if m.powder in names)


def _base(plan: Plan, before: tuple[Programme, ...]) -> list[_Draft]:
    """Liner and opaque, each before the bake that is named like it, else before the first bake."""
    waiting = _layers(plan, _BASE)
    steps: list[_Draft] = []
    for row, programme in enumerate(before):
        words = f"{programme.bake} {programme.purpose}".lower()
        due = [layer for layer in waiting if layer.powder.role in words or row == len(before) - 1]
        steps += [_thin(plan, layer) for layer in due]
        waiting = [layer for layer in waiting if layer not in due]
        steps.append(_bake(programme, row=row))
    return steps + [_thin(plan, layer) for layer in waiting]


def _thin(plan: Plan, layer: Layer) -> _Draft:
    return _Draft(
        f"Lay on {layer.powder.role}",
        (f"{layer.powder.name}, {_span(plan, layer)} fired, even, none pooled in corners.",),
        with_unit(_placed_g(plan, [layer]), 2, "g"),
    )


def _span(plan: Plan, layer: Layer) -> str:
    """The usual span of a layer's thickness, 5th to 95th share of its veneered vertices."""
    thick = layer.thickness_mm[plan.room.veneered & (layer.thickness_mm > 0)]
    if len(thick) == 0:
        return with_unit(0.0, 2, "mm")
    low, high = np.percentile(thick, [5, 95])
    if high - low < 0.02:
        return with_unit(float(high), 2, "mm")
    return f"{number(float(low), 2)} to {with_unit(float(high), 2, 'mm')}"


def _build(plan: Plan) -> _Draft:
    inner = _layers(plan, ("opaque-dentine", "dentine", "margin"))
    layers = inner or _layers(plan, _OUTER)
    names = listed([f"{layer.powder.name}, {_span(plan, layer)} fired" for layer in layers])
    whole = "Whole tooth to the dashed outline, one wetness, neighbours and bite in view."
    what = "Build dentine to full contour" if inner else "Build to full contour"
    details = (f"{names}." if names else "", whole)
    return _Draft(what, details, with_unit(_placed_g(plan, layers), 2, "g"))


def _cut(plan: Plan) -> list[_Draft]:
    """The cut-back: which rows of the calliper table, fired enamel by thirds."""
    if plan.layers.cut_back is None:
        return []
    rows = [row for row, c in enumerate(plan.callipers) if c.name.startswith("cut-back")]
    edge, outer = plan.frame.tooth.edge_word, plan.frame.tooth.outer_word
    details = [f"{edge.capitalize()} first, then {outer} bevel, then sides."]
    if rows:
        first, last = letter_of(rows[0]), letter_of(rows[-1])
        details.append(f"Green depths: callipers {first}" + (f" to {last}." if first != last else "."))
    details.append(f"Enamel fired: {_thirds(plan)}.")
    most = max((plan.callipers[row].green_mm for row in rows), default=None)
    amount = "" if most is None else f"\u2264 {with_unit(most, 2, 'mm')}"
    return [_Draft("Cut back", tuple(details), amount)]


def _thirds(plan: Plan) -> str:
    """Median enamel by thirds of the height, in words."""
    share = plan.frame.height_share(plan.case.contour.surface.vertices_mm)
    names = ("cervical", "middle", plan.frame.tooth.edge_word)
    third = np.clip((share * 3).astype(int), 0, 2)
    found = []
    for row, name in enumerate(names):
        here = plan.layers.enamel_mm[(third == row) & plan.room.veneered]
        if len(here):
            found.append(f"{name} {number(float(np.median(here)), 2)}")
    return f"{', '.join(found)} mm" if found else "none"


def _outer(plan: Plan) -> list[_Draft]:
    layers = _layers(plan, _OUTER)
    if plan.layers.cut_back is None or not layers:
        return []
    steps = []
    for row, layer in enumerate(layers):
        damp = "" if row else "Dampen the dentine first. "
        details = (f"{damp}{layer.powder.name}, {_span(plan, layer)} fired.",)
        what = f"Lay on {layer.powder.role} to the dashed outline"
        steps.append(_Draft(what, details, with_unit(_placed_g(plan, [layer]), 2, "g")))
    return steps


def _callipers(plan: Plan) -> _Draft:
    over = plan.green.overbuild_mm[plan.room.veneered]
    middle, most = (float(np.median(over)), float(over.max())) if len(over) else (0.0, 0.0)
    length = next((c.green_mm for c in plan.callipers if c.name.startswith(("length", "height"))), None)
    details = (
        f"Callipers table. Overbuild: median {with_unit(middle, 2, 'mm')}, most {with_unit(most, 2, 'mm')}.",
    )
    return _Draft("Measure before lifting off", details, "" if length is None else with_unit(length, 2, "mm"))


def _lift(plan: Plan) -> _Draft:
    extra = plan.case.allowances.contact_mm
    fill = (
        "Fill the hollows at the contacts" if plan.case.neighbours else "Fill the hollows mesial and distal"
    )
    amount = f"+{with_unit(extra, 2, 'mm')}" if extra > 0 else ""
    more = f", {with_unit(extra, 2, 'mm')} extra fired at each" if extra > 0 else ""
    return _Draft("Lift off, fill contacts", (f"{fill}{more}. Wipe margin and inside.",), amount)


def _bake(p: Programme, *, row: int) -> _Draft:
    dry = f"Dry {minutes(p.dry_s)}" if p.dry_s > 0 else "No drying"
    details = (f"{sentence(p.purpose)} {dry}; firing table, row {row + 1}.",)
    return _Draft(f"Bake {row + 1}: {p.bake}", details, with_unit(p.peak_degC, 0, "°C"), for_bake(p))


def _fit(plan: Plan) -> _Draft:
    clear = plan.room.least_clearance_mm
    bite = "" if clear is None else f" Least clearance planned {with_unit(clear, 2, 'mm')}."
    details = (
        f"Compare with the fired sizes, then contacts, length, {plan.frame.tooth.outer_word} planes.{bite}",
        "Write the fired sizes down.",
    )
    return _Draft(
        "Seat, measure, grind",
        details,
        cautions=for_grinding(known(plan.case.core_material, plan.case.powders)),
    )


def _end(plan: Plan) -> _Draft:
    details = ("Against the order, under two lights; lots written in.",)
    found = known(plan.case.core_material, plan.case.powders)
    return _Draft("Check, disinfect, sign", details, cautions=for_dispatch(found))
