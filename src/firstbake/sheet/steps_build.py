"""Steps from full contour to lifting off."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstbake.sheet.cautions import POWDER
from firstbake.sheet.contacts import contact_words, wet_amount, wet_overbuilds
from firstbake.sheet.draft import INNER, OUTER, Draft, laid_g, layers_of, span, weighed
from firstbake.sheet.measures import letter_of
from firstbake.sheet.words import bench_mm, number, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan


def building(plan: Plan) -> list[Draft]:
    """Full contour, cut-back, enamel, measuring, contacts."""
    return [_build(plan), *_cut(plan), *_outer(plan), _callipers(plan), _lift(plan)]


def _build(plan: Plan) -> Draft:
    inner = layers_of(plan, INNER)
    layers = inner or layers_of(plan, OUTER)
    details = (
        weighed(plan, layers),
        "Whole tooth to the dashed outline, one wetness.",
    )
    what = "Build dentine to full contour" if inner else "Build to full contour"
    return Draft(what, details, f"lay {with_unit(laid_g(plan, layers), 2, 'g')}", (POWDER,))


def _cut(plan: Plan) -> list[Draft]:
    """The cut-back: which rows of the calliper table, fired enamel by thirds."""
    if plan.layers.cut_back is None:
        return []
    rows = [row for row, c in enumerate(plan.callipers) if c.name.startswith("cut-back")]
    edge, outer = plan.frame.tooth.edge_word, plan.frame.tooth.outer_word
    details = [f"{edge.capitalize()} first, then {outer} bevel, then sides."]
    if rows:
        first, last = letter_of(rows[0]), letter_of(rows[-1])
        details.append(f"Green depths: callipers {first}" + (f" to {last}." if first != last else "."))
    off = sum(m.cut_off_g for m in plan.mix)
    details.append(f"About {with_unit(off, 2, 'g')} comes off. Enamel fired: {_thirds(plan)}.")
    return [Draft("Cut back", tuple(details), _depths(plan, rows))]


def _depths(plan: Plan, rows: list[int]) -> str:
    depths = [plan.callipers[row].green_mm for row in rows]
    if not depths:
        return ""
    return f"{number(min(depths), 1)}–{with_unit(max(depths), 1, 'mm')}"


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


def _outer(plan: Plan) -> list[Draft]:
    layers = layers_of(plan, OUTER)
    if plan.layers.cut_back is None or not layers:
        return []
    steps = []
    for row, layer in enumerate(layers):
        damp = "" if row else "Dampen the dentine first. "
        details = (
            f"{damp}{weighed(plan, [layer])}",
            f"To the dashed outline, {span(plan, layer)} fired; at the sides only as far as the neighbours.",
        )
        amount = f"lay {with_unit(laid_g(plan, [layer]), 2, 'g')}"
        steps.append(Draft(f"Lay on {layer.powder.role}", details, amount))
    return steps


def _callipers(plan: Plan) -> Draft:
    over = plan.green.overbuild_mm[plan.room.veneered]
    middle, most = (float(np.median(over)), float(over.max())) if len(over) else (0.0, 0.0)
    length = next((c.green_mm for c in plan.callipers if c.name.startswith(("length", "height"))), None)
    across = "labiopalatal" if plan.frame.tooth.is_upper else "labiolingual"
    across = across if plan.frame.tooth.is_front else across.replace("labio", "bucco")
    details = (
        f"Length and {across} sizes: callipers table.",
        f"Over the wanted contour mostly {number(middle, 1)}, most {with_unit(most, 1, 'mm')}.",
    )
    return Draft("Measure on the model", details, "" if length is None else f"{bench_mm(length)}\u202fmm")


def _lift(plan: Plan) -> Draft:
    wet = wet_overbuilds(plan)
    fill = "Fill the hollows at the contacts, wet" if wet else "Fill the hollows of the sides to the outline"
    details = (
        contact_words(plan),
        f"{fill}; then measure mesiodistal. Wipe margin and inside.",
    )
    return Draft("Lift off, fill contacts", details, wet_amount(plan))
