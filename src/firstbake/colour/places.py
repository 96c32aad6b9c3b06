"""Which vertices stand for a zone, and how thick each layer is there."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.colour.edge import look_back, through_edge, weighted_median
from firstbake.layering import Layer, Layers
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
        open_back = np.zeros(len(chosen), dtype=np.bool_)
        if name == "incisal" and frame.tooth.is_front:
            open_back = look_back(case, frame, chosen)
        share = _share(case, chosen, open_back)
        if share > 0.5:
            stack = through_edge(case, frame, layers, vertices=chosen[open_back])
        else:
            keep = chosen[~open_back] if (~open_back).sum() >= _FEWEST else chosen
            stack = [(layer.powder, _median(case, layer, keep)) for layer in layers.layers]
        kept = tuple((powder, mm) for powder, mm in stack if mm >= _THINNEST_MM)
        found.append(Place(name, front, kept, share > 0.5, share))
    return tuple(found)


def _facing(case: Case, frame: Frame, members: Vertices, *, occlusal: bool) -> tuple[Vertices, bool]:
    if occlusal and frame.tooth.kind == "molar":
        return members, True
    lean = case.contour.surface.vertex_normals[members] @ frame.axes[1]
    chosen = members[lean > _FACING]
    return (chosen, True) if len(chosen) >= _FEWEST else (members, False)


def _share(case: Case, chosen: Vertices, flags: NDArray[np.bool_]) -> float:
    area = case.contour.surface.vertex_areas_mm2[chosen]
    return float(area[flags].sum() / max(float(area.sum()), 1e-12))


def _median(case: Case, layer: Layer, chosen: Vertices) -> float:
    return weighted_median(layer.thickness_mm[chosen], case.contour.surface.vertex_areas_mm2[chosen])
