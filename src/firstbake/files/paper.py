"""Paper: the sheet's values laid out for the PDF template, as plain JSON data."""

from typing import Any

import numpy as np

from firstbake.files.paper_callipers import calliper_cells, doubt_words
from firstbake.sheet import (
    ColourRow,
    Drawing,
    FiringRow,
    Measure,
    MixRow,
    RecipeRow,
    Sheet,
    Step,
    Warned,
    bench_mm,
    lab_words,
)

_NUMBER_MM = 6.4  # least distance between two numbers at the side of a drawing
_WIDTH_MM = 186.0  # A4 less margins
_LARGE, _FULL = 5.0, 1.0  # scales of the drawings
_LEGEND = (
    ("core", "core"),
    ("dentine", "dentine after cut-back"),
    ("enamel", "enamel"),
    ("contour", "wanted contour"),
    ("green", "build to here (unfired)"),
)

Json = dict[str, Any]


def paper_of(sheet: Sheet, pictures: list[Json]) -> Json:
    """Everything the template needs; numbers that stand in tables are already words."""
    head = sheet.head
    large = [_drawing(d, _LARGE) for d in sheet.drawings]
    used = sum(g["pad_mm"]["left"] + g["width_mm"] + g["pad_mm"]["right"] for g in large)
    source = "" if head.source == "meshes" else f" · from {head.source}"
    return {
        "title": f"{head.code} · {head.tooth_number} {head.tooth}",
        "subtitle": f"{head.core}{source}",
        "ordered": head.ordered,
        "badge": head.badge,
        "axes": head.axes,
        "sized": head.source != "meshes",
        "footer_left": head.code,
        "footer_right": f"firstbake {head.version}",
        "lead": sheet.lead,
        "second": sheet.second,
        "contacts": [{"words": c.words, "choices": list(c.choices)} for c in sheet.contacts],
        "steps": [_step(row, s) for row, s in enumerate(sheet.steps)],
        "all_fit": used <= _WIDTH_MM,
        "drawings": large,
        "small": [_drawing(d, _FULL) for d in sheet.drawings],
        "legend": [{"part": part, "words": words} for part, words in _LEGEND if _shown(sheet, part)],
        "pictures": pictures,
        "warnings": [_warned(w) for w in sheet.warnings],
        "cautions": list(sheet.cautions),
        "lots": list(sheet.lots),
        "notes": " ".join((*sheet.notes, *_sources(sheet.firing))),
        "prevail": sheet.prevail,
        **_tables(sheet),
    }


def _shown(sheet: Sheet, part: str) -> bool:
    """A one-powder plan draws no dentine of its own, so its legend names neither."""
    two = any(stroke.part == "dentine" and stroke.lines_mm for d in sheet.drawings for stroke in d.strokes)
    return two or part not in ("dentine", "enamel")


def _tables(sheet: Sheet) -> Json:
    return {
        "callipers": calliper_cells(sheet.callipers),
        "doubt": doubt_words(sheet.callipers),
        "mix_note": _mix_note(sheet.mix),
        "bakes": sheet.bakes,
        "firing_care": sheet.firing_care,
        "cooling": sheet.cooling,
        "colour_notes": list(sheet.colour_notes),
        "firing": [_firing(row, f) for row, f in enumerate(sheet.firing)],
        "longest": max((point[0] for f in sheet.firing for point in f.curve), default=10.0) * 1.6,
        "hottest": max((point[1] for f in sheet.firing for point in f.curve), default=1000.0) * 1.08,
        "colour": [_colour(c) for c in sheet.colour],
        "recipe": [_recipe(r) for r in sheet.recipe],
        "recipe_line": sheet.recipe_line,
    }


def _step(row: int, s: Step) -> Json:
    return {
        "row": str(row + 1),
        "stage": s.stage,
        "what": s.what,
        "details": " ".join(filter(None, s.details)),
        "amount": s.amount,
        "caution": s.caution,
        "asked": list(s.asked),
    }


def _warned(w: Warned) -> Json:
    return {
        "sentence": w.sentence,
        "assumed": w.assumed,
        "bench": list(w.bench),
        "dentist": list(w.dentist),
        "send": w.send,
    }


def _sources(firing: tuple[FiringRow, ...]) -> list[str]:
    """Sources of the bakes; what all of them share is said once."""
    if not firing:
        return []
    pieces = [[piece for piece in f.source.split("; ") if "heat work" not in piece] for f in firing]
    shared = [piece for piece in pieces[0] if all(piece in other for other in pieces)]
    own = [
        f"{f.bake}: {'; '.join(piece for piece in parts if piece not in shared)}"
        for f, parts in zip(firing, pieces, strict=True)
        if any(piece not in shared for piece in parts)
    ]
    told = "; ".join([*own, *shared]).replace("peak from card", "card").replace("demo: card", "card")
    told = told.replace("under the main bake", "under main").replace("common practice: ", "")
    told = told.replace("drying, climb, hold: common", "the rest common")
    return [f"Firing: {told}."]


def _mix_note(rows: tuple[MixRow, ...]) -> str:
    """What ends in the build, and the cost by currency where the cards have prices."""
    costs: dict[str, float] = {}
    for m in rows:
        if m.cost is not None:
            costs[m.currency] = costs.get(m.currency, 0.0) + m.cost
    words = ", ".join(f"{cost:.2f} {currency}".strip() for currency, cost in costs.items())
    placed = f"{sum(m.placed_g for m in rows):.2f} g of powder end in the crown"
    return placed + (f"; all that is weighed costs {words}." if words else ".")


def _recipe(r: RecipeRow) -> Json:
    return {
        "zone": r.zone,
        "layers": r.layers,
        "delta": f"{r.delta_e00:.1f}",
        "expected": f"{r.robust_delta_e00:.1f}",
        "doubt": f"{r.doubt_delta_e00:.1f}",
        "verdict": r.verdict,
    }


def _firing(row: int, f: FiringRow) -> Json:
    minutes, degC = (np.array(column) for column in zip(*f.curve, strict=True))
    strip = None
    if f.vacuum_degC is not None:
        top = int(np.argmax(degC))
        strip = [float(np.interp(limit, degC[: top + 1], minutes[: top + 1])) for limit in f.vacuum_degC]
    return {
        "row": str(row + 1),
        "bake": f.bake,
        "dry": f.dry,
        "climb": f.climb,
        "vacuum": f.vacuum,
        "peak": f"{f.peak_degC:.0f}",
        "usual": f"{f.low_degC:.0f}–{f.high_degC:.0f}",
        "hold": f.hold,
        "minutes": f"{minutes[-1]:.0f} min",
        "curve": [list(point) for point in f.curve],
        "vacuum_strip": strip,
        "alt": f"Temperature over time of bake {row + 1}, {f.bake}: dry {f.dry}, "
        f"climb {f.climb} °C per min to {f.peak_degC:.0f} °C, hold {f.hold}",
    }


def _colour(c: ColourRow) -> Json:
    return {
        "zone": c.zone,
        "target": "not ordered" if c.target is None else lab_words(c.target),
        "target_words": c.target_words,
        "target_srgb": None if c.target_srgb is None else list(c.target_srgb),
        "expected": lab_words(c.expected),
        "expected_words": c.expected_words,
        "expected_srgb": list(c.expected_srgb),
        "delta": "–" if c.delta_e00 is None else f"{c.delta_e00:.1f}",
        "doubt": f"{c.doubt_delta_e00:.1f}",
        "words": c.words,
        "stack": c.stack,
    }


def _drawing(d: Drawing, scale: float) -> Json:
    """A drawing at a scale: widths on paper in mm, points still in tooth mm."""
    width, height = (size * scale for size in d.size_mm)
    measures = d.measures if scale > _FULL else ()
    sides = {m.side for m in measures}
    pad = {"left": 0.5, "right": 0.5, "top": 0.5, "bottom": 0.5}
    if scale > _FULL:
        pad = {
            "left": 16.0 if "left" in sides else 3.5,
            "right": 18.5 if "right" in sides else 2.0,
            "top": 5.5,
            "bottom": 1.5,
        }
    return {
        "name": d.name,
        "caption": d.caption,
        "scale": scale,
        "scale_words": f"{scale:.0f}:1",
        "x0": float(d.bounds_mm[0, 0]),
        "y1": float(d.bounds_mm[1, 1]),
        "width_mm": width,
        "height_mm": height,
        "pad_mm": pad,
        "rim": list(d.rim) if scale > _FULL else [],
        "strokes": [
            {
                "part": stroke.part,
                "lines": [
                    {"points": np.round(line, 4).tolist(), "closed": closed}
                    for line, closed in zip(stroke.lines_mm, stroke.closed, strict=True)
                ],
            }
            for stroke in d.strokes
        ],
        "measures": _measures(measures, float(d.bounds_mm[1, 1]), scale=scale, top=pad["top"]),
        "alt": _alt(d, scale),
    }


def _alt(d: Drawing, scale: float) -> str:
    numbers = ", ".join(f"{m.letter} {bench_mm(m.green_mm)} mm" for m in d.measures)
    return f"{d.caption} at {scale:.0f}:1" + (f": build to {numbers}" if numbers and scale > _FULL else "")


def _measures(measures: tuple[Measure, ...], top_mm: float, *, scale: float, top: float) -> list[Json]:
    """Numbers at the right are moved apart so that none covers another."""
    rows = sorted(measures, key=lambda m: -m.end_mm[1])
    least = -np.inf
    placed = []
    for m in rows:
        label = top + (top_mm - m.end_mm[1]) * scale
        if m.side == "right":
            label = max(label, least)
            least = label + _NUMBER_MM
        placed.append(
            {
                "start": list(m.start_mm),
                "end": list(m.end_mm),
                "side": m.side,
                "letter": m.letter,
                "value": bench_mm(m.green_mm),
                "label_mm": label,
            }
        )
    return placed
