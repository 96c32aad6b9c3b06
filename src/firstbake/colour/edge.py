"""The free edge: where there is no core behind the porcelain, and what light meets on the way through."""

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.layering import Layer, Layers
from firstbake.mesh import Surface, cast_rays
from firstbake.powder import Powder
from firstbake.teeth import Frame

Floats = NDArray[np.float64]
Vertices = NDArray[np.int64]

# Layers that lie on the core and so end where it ends; the others go on into a free edge.
_ON_CORE = ("liner", "opaque", "opaque-dentine", "margin")
_OUTSIDE = ("enamel", "transparent")
_STEP_MM = 1e-3
# The lines lean by a hair, so that they do not run along the edges of a mesh that is the same in front
# and behind; over 3 mm that is less than a micron.
_LEAN = (1.7e-4, 1.1e-4)


def weighted_median(values: Floats, weights: Floats) -> float:
    """The value with half of the weight on each side; values, weights : (k,), k at least 1."""
    order = np.argsort(values, kind="stable")
    summed = np.cumsum(weights[order])
    if summed[-1] <= 0:
        return float(np.median(values))
    return float(values[order][np.searchsorted(summed, 0.5 * summed[-1])])


def look_back(case: Case, frame: Frame, vertices: Vertices) -> NDArray[np.bool_]:
    """(k,) True where, looked at straight from the front, a contour vertex has no core behind it.

    vertices : (k,) contour vertices; those that face the back are looked at straight from there
    A vertex without a back of the contour behind it (an open shell) does not count.
    """
    start, backward = _lines(case, frame, vertices)
    to_core, _ = cast_rays(case.core.surface, start, backward)
    to_back, _ = cast_rays(case.contour.surface, start, backward)
    return np.asarray(np.isnan(to_core) & ~np.isnan(to_back))


def through_edge(
    case: Case, frame: Frame, layers: Layers, *, vertices: Vertices
) -> list[tuple[Powder, float]]:
    """(powder, mm) straight through a free edge, from back to front.

    vertices : (k,) contour vertices for which look_back() is True
    method   : the line from each vertex to the back of the contour is cut where it enters and leaves the
               cut-back dentine. Each of the three parts stands with its area-weighted mean, since lobes with
               dentine and grooves without it alternate and a median would show one of them only. Enamel and
               transparent share what lies outside the dentine, dentine powders what lies inside, each in
               proportion to its own median thickness here; coats on the core end with the core.
               Without a cut-back surface all layers share the depth.
    """
    area = case.contour.surface.vertex_areas_mm2[vertices]
    outer, inner, parts = _cut_through(case, frame, layers, vertices)
    behind, middle, before = (float(np.average(part, weights=area)) for part in parts)
    return [
        *reversed(_shared(outer, behind, vertices=vertices, area=area)),
        *_shared(inner, middle, vertices=vertices, area=area),
        *_shared(outer, before, vertices=vertices, area=area),
    ]


def through_each(
    case: Case, frame: Frame, layers: Layers, *, vertices: Vertices
) -> tuple[tuple[Powder, ...], Floats]:
    """The same vertex by vertex: powders from the far side to the near one, and (k, m) mm of each.

    vertices : (k,) contour vertices, looked at straight from the front or from the back, whichever they face
    """
    outer, inner, (behind, middle, before) = _cut_through(case, frame, layers, vertices)
    parts = ((outer[::-1], behind), (inner, middle), (outer, before))
    powders = tuple(layer.powder for some, _ in parts for layer in some)
    columns = [_shares(some, vertices) * depth[:, None] for some, depth in parts if some]
    return powders, np.hstack(columns)


def _cut_through(
    case: Case, frame: Frame, layers: Layers, vertices: Vertices
) -> tuple[list[Layer], list[Layer], tuple[Floats, Floats, Floats]]:
    """Layers outside and inside of the dentine, and (k,) mm behind, inside and before it on the way through.

    Where there is no cut-back all layers count as inside.
    """
    start, backward = _lines(case, frame, vertices)
    depth, _ = cast_rays(case.contour.surface, start, backward)
    depth = depth + _STEP_MM
    outer = [layer for layer in layers.layers if layer.powder.role in _OUTSIDE]
    inner = [layer for layer in layers.layers if layer.powder.role not in (*_OUTSIDE, *_ON_CORE)]
    if layers.cut_back is None or not inner or not outer:
        nothing = np.zeros(len(vertices))
        return [], inner or outer or list(layers.layers[-1:]), (nothing, depth, nothing)
    front, back = _outside_dentine(layers.cut_back, start, backward, depth=depth)
    return outer, inner, (back, depth - front - back, front)


def _shares(parts: list[Layer], vertices: Vertices) -> Floats:
    """(k, len(parts)) share of each layer by its own thickness at each vertex; rows add up to 1."""
    own = np.maximum(np.stack([part.thickness_mm[vertices] for part in parts], axis=1), 1e-6)
    return np.asarray(own / own.sum(axis=1, keepdims=True))


def _lines(case: Case, frame: Frame, vertices: Vertices) -> tuple[Floats, Floats]:
    """Starts just under the face, and the way straight into the tooth from there, (k, 3) each."""
    straight = -frame.axes[1] + _LEAN[0] * frame.axes[0] + _LEAN[1] * frame.axes[2]
    facing = case.contour.surface.vertex_normals[vertices] @ frame.axes[1]
    backward = np.where(facing < 0, -1.0, 1.0)[:, None] * straight / np.linalg.norm(straight)
    return case.contour.surface.vertices_mm[vertices] + _STEP_MM * backward, backward


def _outside_dentine(
    dentine: Surface, start: Floats, backward: Floats, *, depth: Floats
) -> tuple[Floats, Floats]:
    """(k,) mm from the front and from the back to the dentine; half of the depth each where it is missed."""
    outside = start - 2 * _STEP_MM * backward
    front, _ = cast_rays(dentine, outside, backward)
    end = start + depth[:, None] * backward
    back, _ = cast_rays(dentine, end, -backward)
    front, back = front - _STEP_MM, back - _STEP_MM
    missed = np.isnan(front) | np.isnan(back) | (front + back > depth)
    half = 0.5 * depth
    return (
        np.where(missed, half, np.clip(front, 0.0, depth)),
        np.where(missed, half, np.clip(back, 0.0, depth)),
    )


def _shared(
    parts: list[Layer], whole_mm: float, *, vertices: Vertices, area: Floats
) -> list[tuple[Powder, float]]:
    """The thickness shared out among layers by their own median thickness here."""
    if not parts:
        return []
    own = np.array([max(weighted_median(part.thickness_mm[vertices], area), 1e-6) for part in parts])
    return [(part.powder, float(mm)) for part, mm in zip(parts, whole_mm * own / own.sum(), strict=True)]
