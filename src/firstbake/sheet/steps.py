"""Steps: the order of work with boxes to tick: what, where, how thick, how many grams."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from firstbake.firing import Programme
from firstbake.layering import Layer
from firstbake.sheet.cautions import CLEAN, DUST, POWDER, core_caution
from firstbake.sheet.sheet import Step
from firstbake.sheet.words import listed, minutes, number, sentence, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_BASE = ("liner", "opaque")  # laid and baked before the build
_OUTER = ("enamel", "transparent")
_MAIN_WORDS = ("main", "dentine", "first build")
_CORE_WORK = {
    "zirconia": "Adjust wet, light pressure; clean by steam or ultrasonic; tweezers only from here.",
    "metal": "Grind in one direction, blast, steam; tweezers only from here.",
    "alumina": "Adjust wet, light pressure; clean by ultrasonic; tweezers only from here.",
    "glass-ceramic": "Remove the reaction layer as the maker says; clean; tweezers only from here.",
}  # common practice


def steps_of(plan: Plan) -> tuple[Step, ...]:
    """All steps from the bare core to dispatch."""
    main = _main_bake(plan.firing)
    before, after = plan.firing[:main], plan.firing[main + 1 :]
    steps = [_core(plan), *_mark(plan), _mix(plan)]
    steps += _base(plan, before)
    steps += [_build(plan), *_cut(plan), *_outer(plan), _callipers(plan), _lift(plan)]
    finish = [_bake(p, row=row) for row, p in enumerate(plan.firing) if row == main]
    finish += [_fit(plan)]
    finish += [_bake(p, row=main + 1 + row) for row, p in enumerate(after)]
    finish += [_end()]
    return (*steps, *(replace(step, stage="finish") for step in finish))


def _main_bake(firing: tuple[Programme, ...]) -> int:
    """Row of the bake that fires the build: the first one named so, else the first of all."""
    named = (row for row, p in enumerate(firing) if any(word in p.bake.lower() for word in _MAIN_WORDS))
    return next(named, 0)


def _core(plan: Plan) -> Step:
    core = plan.case.core_material
    wall = core.least_wall_mm.value
    details = (
        f"Wall at least {with_unit(wall, 2, 'mm')}, margin closed, no rocking.",
        _CORE_WORK.get(core.kind, "Clean; tweezers only from here."),
    )
    return Step("Check and clean the core", details, caution=core_caution(core))


def _mark(plan: Plan) -> list[Step]:
    """Where room is short, mark it and choose before any powder is wet."""
    if not plan.room.thin:
        return []
    worst = sorted(plan.room.thin, key=lambda region: region.worst_mm)
    shown = [f"{with_unit(r.worst_mm, 2, 'mm')} {r.where}" for r in worst[:3]]
    more = f"; {len(worst) - 3} more overleaf" if len(worst) > 3 else ""
    return [Step("Mark the short places, choose", (f"{'; '.join(shown)}{more}. Choices overleaf.",))]


def _mix(plan: Plan) -> Step:
    grams = sum(m.powder_g for m in plan.mix)
    millilitres = sum(m.liquid_ml for m in plan.mix)
    details = (
        f"As in the mix table, {with_unit(millilitres, 2, 'ml')} liquid in all.",
        "Right when it shines on tapping and holds its heap. No steel on the slab.",
    )
    return Step("Mix", details, with_unit(grams, 2, "g"), POWDER)


def _layers(plan: Plan, roles: tuple[str, ...]) -> list[Layer]:
    return [
        layer for layer in sorted(plan.layers.layers, key=lambda x: x.order) if layer.powder.role in roles
    ]


def _placed_g(plan: Plan, layers: list[Layer]) -> float:
    names = {layer.powder.name for layer in layers}
    return sum(m.placed_g for m in plan.mix if m.powder in names)


def _base(plan: Plan, before: tuple[Programme, ...]) -> list[Step]:
    """Liner and opaque, each before the bake that is named like it, else before the first bake."""
    waiting = _layers(plan, _BASE)
    steps: list[Step] = []
    for row, programme in enumerate(before):
        words = f"{programme.bake} {programme.purpose}".lower()
        due = [layer for layer in waiting if layer.powder.role in words or row == len(before) - 1]
        steps += [_thin(plan, layer) for layer in due]
        waiting = [layer for layer in waiting if layer not in due]
        steps.append(_bake(programme, row=row))
    return steps + [_thin(plan, layer) for layer in waiting]


def _thin(plan: Plan, layer: Layer) -> Step:
    return Step(
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


def _build(plan: Plan) -> Step:
    inner = _layers(plan, ("opaque-dentine", "dentine", "margin"))
    layers = inner or _layers(plan, _OUTER)
    names = listed([f"{layer.powder.name}, {_span(plan, layer)} fired" for layer in layers])
    whole = "Whole tooth to the dashed outline, one wetness, neighbours and bite in view."
    what = "Build dentine to full contour" if inner else "Build to full contour"
    details = (f"{names}." if names else "", whole)
    return Step(what, details, with_unit(_placed_g(plan, layers), 2, "g"))


def _cut(plan: Plan) -> list[Step]:
    """The cut-back, in green depths from the calliper table, fired enamel by thirds."""
    if plan.layers.cut_back is None:
        return []
    depths = [c for c in plan.callipers if "cut" in c.name.lower()]
    green = "; ".join(f"{_short_name(c.name)} {number(c.green_mm, 2)}" for c in depths)
    details = [f"Green depth, mm: {green}." if green else "", f"Leaves for enamel, fired: {_thirds(plan)}."]
    edge = plan.frame.tooth.edge_word
    details.append(f"{edge.capitalize()} first, then {plan.frame.tooth.outer_word} bevel, then sides.")
    most = max((c.green_mm for c in depths), default=None)
    return [Step("Cut back", tuple(filter(None, details)), "" if most is None else with_unit(most, 2, "mm"))]


def _short_name(name: str) -> str:
    words = [
        word
        for word in name.replace(",", " ").split()
        if word.lower() not in ("cut-back", "cutback", "depth")
    ]
    return " ".join(words) or name


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


def _outer(plan: Plan) -> list[Step]:
    layers = _layers(plan, _OUTER)
    if plan.layers.cut_back is None or not layers:
        return []
    steps = []
    for layer in layers:
        details = (f"{layer.powder.name}, {_span(plan, layer)} fired. Dampen the dentine first.",)
        what = f"Lay on {layer.powder.role} to the dashed outline"
        steps.append(Step(what, details, with_unit(_placed_g(plan, [layer]), 2, "g")))
    return steps


def _callipers(plan: Plan) -> Step:
    over = plan.green.overbuild_mm[plan.room.veneered]
    middle, most = (float(np.median(over)), float(over.max())) if len(over) else (0.0, 0.0)
    length = next((c.green_mm for c in plan.callipers if "length" in c.name.lower()), None)
    details = (
        f"Build to the callipers table. Overbuild {with_unit(middle, 2, 'mm')} in the middle of the range, "
        f"{with_unit(most, 2, 'mm')} at most.",
    )
    return Step("Measure before lifting off", details, "" if length is None else with_unit(length, 2, "mm"))


def _lift(plan: Plan) -> Step:
    extra = plan.case.allowances.contact_mm
    fill = (
        "Fill the hollows at the contacts" if plan.case.neighbours else "Fill the hollows mesial and distal"
    )
    amount = f"+{with_unit(extra, 2, 'mm')}" if extra > 0 else ""
    more = f", {with_unit(extra, 2, 'mm')} extra fired at each" if extra > 0 else ""
    return Step("Lift off, fill contacts", (f"{fill}{more}. Wipe margin and inside clean.",), amount)


def _bake(p: Programme, *, row: int) -> Step:
    caution = p.cautions[0] if p.cautions else ""
    dry = f"Dry {minutes(p.dry_s)} at {with_unit(p.dry_degC, 0, '°C')}" if p.dry_s > 0 else "No drying"
    details = (f"{sentence(p.purpose)} {dry}, hold {minutes(p.hold_s)}; row {row + 1} of the firing table.",)
    return Step(f"Bake {row + 1}: {p.bake}", details, with_unit(p.peak_degC, 0, "°C"), caution)


def _fit(plan: Plan) -> Step:
    clear = plan.room.least_clearance_mm
    bite = "" if clear is None else f" Least clearance planned {with_unit(clear, 2, 'mm')}."
    details = (
        f"Compare with the fired sizes, then contacts, length, {plan.frame.tooth.outer_word} planes.{bite}",
        "Write the fired sizes down: they teach the next build.",
    )
    return Step("Seat, measure, grind", details, caution=DUST)


def _end() -> Step:
    return Step(
        "Check, disinfect, sign", ("Against the order, under two lights; lots written in.",), caution=CLEAN
    )
