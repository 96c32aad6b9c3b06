"""Which vertices stand for a zone, and how thick each layer is there."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.layering import Layer, Layers
from firstbake.mesh import cast_rays
from firstbake.powder import Powder
from firstbake.room import Room
from firstbake.teeth import Frame, zone_of

Floats = NDArray[np.float64]
Vertices = NDArray[np.int64]

ZONES = ("cervical", "body", "incisal")

# A vertex is seen from the front when its normal leans less than 60 degrees from it (chosen here).
_FACING = 0.5
_FEWEST = 3
_THINNEST_MM = 0.005
# Layers that lie on the core and so end where it ends; the others go on into a free edge.
_ON_CORE = ("liner", "opaque", "opaque-dentine", "margin")
_OUTSIDE = ("enamel", "transparent")


@dataclass(frozen=True, eq=False)
class Place:
    """What stands for one zone.

    zone    : one of ZONES
    front   : False where no part of the zone looks to lip or cheek, so that all of it stands in
    layers  : (powder, mm) in the order light would meet them from behind: from the core outward, or at a
              free edge from the back to the front
    free    : True where there is no core behind the larger part of the zone
    free_share : share of the zone's area that has no core behind it, unit 1
    """

    zone: str
    front: bool
    layers: tuple[tuple[Powder, float], ...]
    free: bool
    free_share: float


def weighted_median(values: Floats, weights: Floats) -> float:
    """The value with half of the weight on each side; values, weights : (k,), k at least 1."""
    order = np.argsort(values, kind="stable")
    summed = np.cumsum(weights[order])
    if summed[-1] <= 0:
        return float(np.median(values))
    return float(values[order][np.searchsorted(summed, 0.5 * summed[-1])])


def places_of(case: Case, frame: Frame, room: Room, *, layers: Layers) -> tuple[Place, ...]:
    """The zones that have porcelain, each with its thicknesses.

    The thickness of a layer is its area-weighted median over the veneered vertices of the zone that face
    lip or cheek (over all of them in the occlusal zone of a molar). An incisal zone of a front tooth counts
    as free when, looking straight from the front, more than half of its area has no core behind it; its
    stack is then the way through the tooth from back to front.
    """
    zone = zone_of(frame, case.contour.surface.vertices_mm)
    found = []
    for number, name in enumerate(ZONES):
        members = np.flatnonzero(room.veneered & (zone == number))
        if len(members) < _FEWEST:
            continue
        chosen, front = _facing(case, frame, members, occlusal=name == "incisal")
        free = _free_back(case, frame, chosen, edge=name == "incisal" and frame.tooth.is_front)
        share = _share(case, chosen, free.open)
        if share > 0.5:
            stack = _through(case, layers, chosen, free)
        else:
            keep = chosen[~free.open] if (~free.open).sum() >= _FEWEST else chosen
            stack = [(layer.powder, _median(case, layer, keep)) for layer in layers.layers]
        kept = tuple((powder, mm) for powder, mm in stack if mm >= _THINNEST_MM)
        found.append(Place(name, front, kept, share > 0.5, share))
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Back:
    """From the front at k vertices: no core behind, depth to the back in mm, face there; each (k,)."""

    open: NDArray[np.bool_]
    depth_mm: Floats
    face: Vertices


def _facing(case: Case, frame: Frame, members: Vertices, *, occlusal: bool) -> tuple[Vertices, bool]:
    if occlusal and frame.tooth.kind == "molar":
        return members, True
    lean = case.contour.surface.vertex_normals[members] @ frame.axes[1]
    chosen = members[lean > _FACING]
    return (chosen, True) if len(chosen) >= _FEWEST else (members, False)


def _free_back(case: Case, frame: Frame, chosen: Vertices, *, edge: bool) -> _Back:
    count = len(chosen)
    if not edge:
        return _Back(np.zeros(count, dtype=bool), np.full(count, np.nan), np.full(count, -1))
    backward = np.tile(-frame.axes[1], (count, 1))
    start = case.contour.surface.vertices_mm[chosen] + 1e-3 * backward
    to_core, _ = cast_rays(case.core.surface, start, backward)
    depth, face = cast_rays(case.contour.surface, start, backward)
    blocked = ~np.isnan(to_core)
    return _Back(~blocked & ~np.isnan(depth), depth, face)


def _share(case: Case, chosen: Vertices, flags: NDArray[np.bool_]) -> float:
    area = case.contour.surface.vertex_areas_mm2[chosen]
    return float(area[flags].sum() / max(float(area.sum()), 1e-12))


def _median(case: Case, layer: Layer, chosen: Vertices) -> float:
    return weighted_median(layer.thickness_mm[chosen], case.contour.surface.vertex_areas_mm2[chosen])


def _through(case: Case, layers: Layers, chosen: Vertices, free: _Back) -> list[tuple[Powder, float]]:
    """(powder, mm) through a free edge from back to front.

    Enamel and transparent keep their thickness under each face, layers that lie on the core end with it,
    and dentine fills the rest in proportion to its own layers. With no dentine, or with more enamel than
    the edge is thick, what there is fills the depth in proportion.
    """
    surface = case.contour.surface
    at_front = chosen[free.open]
    area = surface.vertex_areas_mm2[at_front]
    depth = weighted_median(free.depth_mm[free.open], area)
    exits = surface.faces[free.face[free.open]]
    outer = [layer for layer in layers.layers if layer.powder.role in _OUTSIDE]
    inner = [layer for layer in layers.layers if layer.powder.role not in (*_OUTSIDE, *_ON_CORE)]
    front = [weighted_median(layer.thickness_mm[at_front], area) for layer in outer]
    back = [weighted_median(layer.thickness_mm[exits].mean(axis=1), area) for layer in outer]
    inside = [max(weighted_median(layer.thickness_mm[at_front], area), 1e-6) for layer in inner]
    skin = sum(front) + sum(back)
    if not inner and not outer:
        return [(layers.layers[-1].powder, depth)]
    scale = depth / skin if skin > depth or (not inner and skin > 0) else 1.0
    rest = max(depth - scale * skin, 0.0)
    behind = [(layer.powder, scale * mm) for layer, mm in zip(reversed(outer), reversed(back), strict=True)]
    middle = [(layer.powder, rest * mm / sum(inside)) for layer, mm in zip(inner, inside, strict=True)]
    before = [(layer.powder, scale * mm) for layer, mm in zip(outer, front, strict=True)]
    return behind + middle + before
