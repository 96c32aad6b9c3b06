"""The three drawings of a crown: labial outline, mid section, incisal outline."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface, section, sub_surface
from firstbake.sheet.drawing import Drawing, Stroke
from firstbake.sheet.measures import Levels, measures_of
from firstbake.sheet.outline import outline_of, thinned
from firstbake.sheet.views import View, view_of

if TYPE_CHECKING:
    from firstbake.crown import Plan

Floats = NDArray[np.float64]


def drawings_of(plan: Plan) -> tuple[Drawing, ...]:
    """The labial outline, the section through the middle and the incisal outline, in tooth mm."""
    tooth = plan.frame.tooth
    parts = _parts(plan)
    labial, incisal, mesial = (view_of(plan.frame, name) for name in ("labial", "incisal", "mesial"))
    captions = (
        f"seen from {tooth.outer_word}",
        "cut through the middle, from mesial",
        f"seen from {tooth.edge_word}",
    )
    strokes = (
        tuple(_seen(part, surface, labial) for part, surface in parts),
        tuple(_cut(part, surface, mesial) for part, surface in parts),
        tuple(_seen(part, surface, incisal) for part, surface in parts),
    )
    names = ("labial", "section", "incisal")
    views = (labial, mesial, incisal)
    return tuple(
        _drawing(plan, name, caption, strokes=lines, view=view)
        for name, caption, lines, view in zip(names, captions, strokes, views, strict=True)
    )


def _parts(plan: Plan) -> list[tuple[str, Surface]]:
    """From the outside in, so that each is drawn over the one before."""
    contour, green = (
        reached_part(surface, plan) for surface in (plan.case.contour.surface, plan.green.contour)
    )
    parts = [("green", green), ("contour", contour)]
    if plan.layers.cut_back is not None:
        parts.append(("dentine", plan.layers.cut_back))
    return [*parts, ("core", plan.case.core.surface)]


def reached_part(surface: Surface, plan: Plan) -> Surface:
    """The faces of a contour (vertex for vertex the case's) that porcelain reaches: no root is drawn."""
    faces = np.asarray(plan.room.veneered[surface.faces].any(axis=1))
    return surface if faces.all() else sub_surface(surface, faces)[0]


def _seen(part: str, surface: Surface, view: View) -> Stroke:
    lines = outline_of(surface, view)
    return Stroke(part, lines, (True,) * len(lines))


def _cut(part: str, surface: Surface, view: View) -> Stroke:
    """The section by the plane through the origin of the frame that faces the eye."""
    lines = section(surface, view.origin_mm, view.axes[2])
    flat = [(view.seen(line.points_mm)[:, :2], line.closed) for line in lines if line.length_mm > 1.0]
    return Stroke(
        part,
        tuple(thinned(points, closed=closed) for points, closed in flat),
        tuple(closed for _, closed in flat),
    )


def _drawing(plan: Plan, name: str, caption: str, *, strokes: tuple[Stroke, ...], view: View) -> Drawing:
    points = np.vstack([line for stroke in strokes for line in stroke.lines_mm] or [np.zeros((1, 2))])
    bounds = np.vstack([points.min(axis=0), points.max(axis=0)])
    measures = measures_of(plan.callipers, strokes[0], name=name, levels=_levels(plan))
    return Drawing(name, caption, strokes, measures, bounds, view.rim)


def _levels(plan: Plan) -> Levels:
    """Margin and top in the heights of the tooth; the drawings' up is the tooth's down for upper teeth."""
    sides = np.array([[1.0, 0, 0], [-1.0, 0, 0], [0, 1.0, 0], [0, -1.0, 0]])
    mesial, distal, outer, inner = plan.frame.margin_height_mm(sides).tolist()
    top = float(plan.frame.to_local(plan.case.contour.surface.vertices_mm)[:, 2].max())
    rise = -1.0 if plan.frame.tooth.is_upper else 1.0
    return Levels(mesial, distal, outer, inner, top, rise)
