"""The three drawings of a crown: outlines from labial, a cut through the middle, a cut across."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstbake.mesh import Surface, section, sub_surface
from firstbake.sheet.drawing import Drawing, Stroke
from firstbake.sheet.measures import Levels, measures_of
from firstbake.sheet.outline import outline_of, thinned
from firstbake.sheet.views import View, view_of
from firstbake.sheet.words import with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

Floats = NDArray[np.float64]


def drawings_of(plan: Plan) -> tuple[Drawing, ...]:
    """Outlines seen from labial, the cut through the middle, the cut across at half height, in tooth mm."""
    tooth = plan.frame.tooth
    parts = _parts(plan)
    labial, incisal, mesial = (view_of(plan.frame, name) for name in ("labial", "incisal", "mesial"))
    levels = _levels(plan)
    half = levels.between(
        max(levels.outer_margin_mm, levels.inner_margin_mm), 0.5 if tooth.is_front else 0.35
    )
    up = half - levels.outer_margin_mm
    captions = (
        f"outlines, seen from {tooth.outer_word}",
        "cut through the middle, from mesial",
        f"cut {with_unit(up, 1, 'mm')} above the {tooth.outer_word} margin, from {tooth.edge_word}",
    )
    strokes = (
        tuple(_seen(part, surface, labial) for part, surface in parts),
        tuple(_cut(part, surface, mesial) for part, surface in parts),
        tuple(_cut(part, surface, incisal, toward_mm=half) for part, surface in parts),
    )
    names = ("labial", "section", "incisal")
    views = (labial, mesial, incisal)
    return tuple(
        _drawing(plan, name, caption, strokes=lines, view=view)
        for name, caption, lines, view in zip(names, captions, strokes, views, strict=True)
    )


def _parts(plan: Plan) -> list[tuple[str, Surface]]:
    """From the outside in, so that each is drawn over the one before; nothing below the margin."""
    parts = [("green", plan.green.contour), ("contour", plan.case.contour.surface)]
    if plan.layers.cut_back is not None:
        parts.append(("dentine", plan.layers.cut_back))
    parts.append(("core", plan.case.core.surface))
    return [(part, above_margin(plan, surface)) for part, surface in parts]


def above_margin(plan: Plan, surface: Surface) -> Surface:
    """The part of contour, cut-back or core that porcelain covers: no root, no inside of a crown.

    Faces stay whose corners are all nearest to a veneered vertex of the wanted contour (for a surface
    with the contour's vertices: are themselves such). A surface that would vanish stays whole.
    """
    contour, veneered = plan.case.contour.surface, plan.room.veneered
    if veneered.all():
        return surface
    if len(surface.vertices_mm) == len(veneered):
        kept = veneered
    else:
        kept = veneered[cKDTree(contour.vertices_mm).query(surface.vertices_mm)[1]]
    faces = np.asarray(kept[surface.faces].all(axis=1))
    return sub_surface(surface, faces)[0] if faces.any() else surface


def _seen(part: str, surface: Surface, view: View) -> Stroke:
    lines = outline_of(surface, view)
    return Stroke(part, lines, (True,) * len(lines))


def _cut(part: str, surface: Surface, view: View, *, toward_mm: float = 0.0) -> Stroke:
    """The section by the plane that faces the eye, so far from the origin of the frame toward it."""
    lines = section(surface, view.origin_mm + toward_mm * view.axes[2], view.axes[2])
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
