"""Steps of the build: from what comes in to the green crown on its peg."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from firstbake.sheet.cautions import POWDER, TOOL, asked_of, at_step, one_line
from firstbake.sheet.coat_steps import coat_steps, grams, weigh
from firstbake.sheet.contacts import wet_extras
from firstbake.sheet.draft import OUTER, hazards_of, layers_of, mixes_of, span_of
from firstbake.sheet.lead import short_places
from firstbake.sheet.measures import letter_of
from firstbake.sheet.sheet import Step
from firstbake.sheet.words import NARROW, bench_mm, listed, number, with_unit
from firstbake.teeth import place_in_words

if TYPE_CHECKING:
    from firstbake.crown import Plan

_CORE_WORK = {
    "zirconia": "Adjust wet and light, clean, then tweezers only.",
    "metal": "Grind in one direction, blast, steam, then tweezers only.",
    "alumina": "Adjust wet and light, clean, then tweezers only.",
    "glass-ceramic": "Remove the reaction layer as the maker says, clean, then tweezers only.",
}  # common practice


def build_steps(plan: Plan) -> list[Step]:
    """Everything up to the main bake, in the order of the bench; mixing's cautions at the first powder."""
    steps = [_receive(plan), _core(plan), *_mark(plan), *coat_steps(plan)]
    steps = [replace(step, stage="prepare") for step in steps]
    steps += [_build(plan), *_cut(plan), *_outer(plan), _measure(plan), _lift(plan), _measure_wide(plan)]
    first = next(row for row, s in enumerate(steps) if s.what.startswith(("Lay on", "Build")))
    care = " ".join((one_line(POWDER), one_line(TOOL)))
    steps[first] = replace(steps[first], caution=f"{steps[first].caution} {care}".strip())
    return steps


def _receive(plan: Plan) -> Step:
    found = hazards_of(plan)
    details = ("Die seated, margin sealed, neighbours isolated, opposing model there.",)
    asked = ("Disinfected?", *asked_of(found))
    return Step("Check what came in", details, caution=" ".join(at_step("receive", found)), asked=asked)


def _core(plan: Plan) -> Step:
    core = plan.case.core_material
    taken = with_unit(plan.case.core_wall_mm, 2, "mm")
    details = (
        f"Wall taken as {taken}, check with the wall calliper (least {number(core.least_wall_mm.value, 2)}).",
        "Margin closed, inside clean, no rocking.",
        _CORE_WORK.get(core.kind, "Clean, then tweezers only."),
    )
    tied = at_step("metal core" if core.kind == "metal" else "core", hazards_of(plan))
    return Step("Check and clean the core", details, caution=" ".join(tied))


def _mark(plan: Plan) -> list[Step]:
    """Where room is short, mark it and choose before any powder is wet."""
    places = short_places(plan.room)
    if not places:
        return []
    shown = [f"{with_unit(p[0].worst_mm, 2, 'mm')} {p[0].where}" for p in places[:3]]
    more = f"; {len(places) - 3} more overleaf" if len(places) > 3 else ""
    return [Step("Mark the short places, choose", (f"{'; '.join(shown)}{more}. Choices overleaf.",))]


def _build(plan: Plan) -> Step:
    inner = layers_of(plan, ("opaque-dentine", "dentine", "margin"))
    layers = inner or layers_of(plan, OUTER)
    thick = listed([f"{layer.powder.role} {span_of(plan, layer)}" for layer in layers])
    off = sum(m.cut_off_g for m in mixes_of(plan, layers))
    back = f"About {with_unit(off, 2, 'g')} comes off again at the cut-back. " if off > 0.005 else ""
    whole = "Whole tooth to the dashed outline, one wetness, neighbours and bite in view."
    what = "Build dentine to full contour" if inner else "Build to full contour"
    details = (weigh(plan, layers), f"{back}{whole}", f"Stays, fired: {thick}." if layers else "")
    return Step(what, details, grams(plan, layers))


def _cut(plan: Plan) -> list[Step]:
    """The cut-back: depths, which rows of the calliper table, fired enamel by thirds."""
    if plan.layers.cut_back is None:
        return []
    edge, outer = plan.frame.tooth.edge_word, plan.frame.tooth.outer_word
    rows = _rows_from(plan, ("cut-back",))
    where, depths = _depths(plan)
    details = [f"{where}{edge.capitalize()} first, then {outer} bevel, then sides."]
    details += [f"Callipers {rows}."] if rows else []
    details.append(f"Enamel, fired: {_thirds(plan)}.")
    return [Step("Cut back", tuple(details), depths)]


def _depths(plan: Plan) -> tuple[str, str]:
    """Where the cut-back is measured, in words, and its green depths there, mm."""
    outer = plan.frame.tooth.outer_word
    groups: dict[str, list[float]] = {}
    for c in plan.callipers:
        if c.name.startswith("cut-back"):
            name = next((n for n in ("cusp", "lobe", f", {outer}") if n in c.name), "tip")
            groups.setdefault(outer if outer in name else f"{name}s", []).append(c.green_mm)
    told = []
    for depths in groups.values():
        low, high = number(min(depths), 1), number(max(depths), 1)
        told.append(low if low == high else f"{low}–{high}")
    words = f"{' / '.join(groups).capitalize()}, wet. " if told else ""
    return words, " / ".join(told) + "\u202fmm" if told else ""


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
    return f"{', '.join(found)}{NARROW}mm" if found else "none"


def _outer(plan: Plan) -> list[Step]:
    layers = layers_of(plan, OUTER)
    if plan.layers.cut_back is None or not layers:
        return []
    steps = []
    for row, layer in enumerate(layers):
        damp = "" if row else "Dampen the dentine first. "
        details = (
            f"{damp}{weigh(plan, [layer])}",
            f"{span_of(plan, layer)} fired. Sides only as far as the neighbours.",
        )
        what = f"Lay on {layer.powder.role} to the dashed outline"
        steps.append(Step(what, details, grams(plan, [layer])))
    return steps


def _rows_from(plan: Plan, words: tuple[str, ...]) -> str:
    """The letters of the calliper rows whose names begin so."""
    rows = [letter_of(row) for row, c in enumerate(plan.callipers) if c.name.startswith(words)]
    return "" if not rows else f"{rows[0]} to {rows[-1]}" if len(rows) > 1 else rows[0]


def _measure(plan: Plan) -> Step:
    tooth = plan.frame.tooth
    lengths, across = _rows_from(plan, ("length", "height")), _rows_from(plan, ("labio", "bucco"))
    told = listed([row for row in (lengths, across) if row])
    over = np.where(plan.room.veneered, plan.green.overbuild_mm, 0.0)
    details = [f"Callipers {told}."] if told else []
    if over.any():
        top = int(np.argmax(over))
        where = place_in_words(plan.frame, plan.case.contour.surface.vertices_mm[top])
        usual = number(float(np.median(over[plan.room.veneered])), 1)
        details.append(f"Overbuild mostly {usual}, most {bench_mm(float(over[top]))}{NARROW}mm, {where}.")
    length = next((c.green_mm for c in plan.callipers if c.name.startswith(("length", "height"))), None)
    depth = f"{tooth.outer_word.removesuffix('al')}o{tooth.inner_word}"
    first = "length" if tooth.is_front else "heights"
    amount = "" if length is None or not tooth.is_front else f"{bench_mm(length)}\u202fmm"
    return Step(f"Measure {first} and {depth}", tuple(details), amount)


def _lift(plan: Plan) -> Step:
    extras = wet_extras(plan)
    wipe = "Margin last, press well. Wipe inside."
    if not extras:
        told = "No extra is built: contacts not known." if not plan.room.contacts else "No extra is built."
        return Step("Lift off, fill the hollows at the sides", (told, wipe))
    amount = " / ".join(f"+{bench_mm(extra)}" for extra in extras.values())
    sides = f"{' / '.join(extras).capitalize()}. "
    open_sides = [c.side for c in plan.room.contacts if c.side not in extras]
    left = f"{listed(open_sides).capitalize()} is left open. " if open_sides else ""
    return Step("Lift off, fill contacts", (f"{sides}{left}{wipe}",), f"{amount} wet")


def _measure_wide(plan: Plan) -> Step:
    wide = _rows_from(plan, ("mesiodistal",))
    return Step("Measure mesiodistal" + (f": callipers {wide}" if wide else ""), ())
