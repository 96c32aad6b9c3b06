"""Lead: the one sentence that matters, and the next ones on colour, contacts and bite."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from firstbake.case import Case
from firstbake.room import Region, Room
from firstbake.sheet.words import listed, number, with_unit
from firstbake.teeth import Frame

if TYPE_CHECKING:
    from firstbake.crown import Plan

LEAST_MISS_MM = 0.05  # a bench calliper reads no less; smaller misses are specks (common practice)
ACCEPTED_DELTA_E00 = 1.8  # acceptability limit for tooth colours, ISO/TR 28642:2016
_ROOM_POINTS = 7  # places whose room a case file can give
_NAME = re.compile(r"[a-z_]+_mm")  # a place in [sizes.room]
_MOST_OF_A_SIDE = 0.5  # share of its area (chosen here)


def short_places(room: Room) -> list[list[Region]]:
    """Thin regions that a calliper can tell, those of one place in words together, worst first."""
    places: dict[str, list[Region]] = {}
    for region in sorted(room.thin, key=lambda r: -r.depth_mm):
        if region.depth_mm >= LEAST_MISS_MM or region.worst_mm < 0:
            places.setdefault(region.where, []).append(region)
    return list(places.values())


def lead_of(room: Room, *, case: Case | None = None, frame: Frame | None = None) -> str:
    """The state of the room in one sentence, worst place first.

    case, frame : tell an assumed room from a measured one, and a side that is short nearly all over
    """
    assumed = _assumed(case)
    places = short_places(room)
    if not places:
        return assumed or _enough(room)
    worst = min((region for place in places for region in place), key=lambda region: region.worst_mm)
    side = _side(worst, room, case, frame)
    spot = f"{with_unit(worst.worst_mm, 2, 'mm')}, {worst.where}"
    rest = len(places) - 1
    more = f"; short in {rest} more place{'s' if rest > 1 else ''}" if rest else ""
    if worst.worst_mm < 0:
        told = f"The core stands out by {with_unit(-worst.worst_mm, 2, 'mm')}, {worst.where}{more}."
    elif side:
        told = f"Room is short over most of the {side}, worst {with_unit(worst.worst_mm, 2, 'mm')}{more}."
    elif rest:
        told = f"Room is short in {rest + 1} places, worst {spot}."
    else:
        told = f"Room is short in one place: {spot}."
    return f"{told} {assumed}".strip()


def _assumed(case: Case | None) -> str:
    """For a crown from calliper sizes: where its room was measured and where it was assumed."""
    if case is None or case.source != "calliper sizes":
        return ""
    if not case.assumed:
        return "Room from your calliper points; between them the core shape is assumed."
    names = [name.removesuffix("_mm").replace("_", " ") for name in _NAME.findall(" ".join(case.assumed))]
    if names and len(names) < _ROOM_POINTS:
        return f"Room assumed, not measured: {listed(names)}. Measure it there."
    return "Room not measured: core shape assumed from your sizes. Measure the wall and room at 5 points."


def _enough(room: Room) -> str:
    if not room.unsupported:
        return "Room is enough everywhere."
    worst = max(room.unsupported, key=lambda region: region.worst_mm)
    far = with_unit(worst.worst_mm, 2, "mm")
    if "edge" in worst.where:
        return f"Room is enough; the edge stands {far} beyond the core."
    return f"Room is enough; porcelain stands {far} off the core, {worst.where}."


def _side(worst: Region, room: Room, case: Case | None, frame: Frame | None) -> str:
    """The side whose porcelain is short over most of its area, where the worst spot lies on it."""
    if case is None or frame is None:
        return ""
    surface = case.contour.surface
    local = surface.vertex_normals @ frame.axes.T
    axis = np.argmax(np.abs(local), axis=1)
    side = 2 * axis + (np.take_along_axis(local, axis[:, None], axis=1)[:, 0] < 0)
    short = np.zeros(len(side), dtype=bool)
    for region in room.thin:
        short[region.vertices] = True
    here = int(np.bincount(side[worst.vertices], surface.vertex_areas_mm2[worst.vertices]).argmax())
    area = np.where((side == here) & room.veneered, surface.vertex_areas_mm2, 0.0)
    if area[short].sum() <= _MOST_OF_A_SIDE * area.sum():
        return ""
    tooth = case.tooth
    return ("mesial", "distal", tooth.outer_word, tooth.inner_word, tooth.edge_word, "neck")[here]


def second_of(plan: Plan) -> str:
    """What else wants an answer before powder is wet: pair, bite, colour, contacts; short sentences."""
    told = ["Core and powder do not belong together: expect cracks."] if _mismatched(plan) else []
    told += [_into(-c.least_mm, c.where) for c in plan.room.clearance if c.least_mm < 0]
    told.append(_colour(plan))
    if not plan.room.contacts:
        told.append("Contacts not known: no neighbours given.")
    if not plan.case.opposing:
        told.append("Bite not known: no opposing teeth given.")
    return " ".join(filter(None, told))


def _mismatched(plan: Plan) -> bool:
    return any("do not belong together" in warning for warning in plan.warnings)


def _into(deep_mm: float, where: str) -> str:
    return f"The opposing tooth stands {with_unit(deep_mm, 2, 'mm')} into the contour, {where}."


def _colour(plan: Plan) -> str:
    known = [z for z in plan.colour if z.delta_e00 is not None]
    if not known:
        return "No colour was ordered."
    worst = max(known, key=lambda z: z.delta_e00 or 0.0)
    delta = worst.delta_e00 or 0.0
    figure = f"ΔE00 {number(delta, 1)} ± {number(worst.difference_doubt_delta_e00, 1)}"
    zone = zone_word(worst.zone, plan.case.tooth.edge_word)
    if delta <= ACCEPTED_DELTA_E00:
        return f"Colour near the wanted, worst {zone} ({figure})."
    missed = (
        "; not reached with these powders" if not_reached(delta, worst.difference_doubt_delta_e00) else ""
    )
    return f"Colour: {zone} {worst.words} ({figure}){missed}."


def not_reached(delta_e00: float, doubt_delta_e00: float) -> bool:
    """True where the difference is over the limit by more than its doubt."""
    return delta_e00 - doubt_delta_e00 > ACCEPTED_DELTA_E00


def zone_word(zone: str, edge_word: str) -> str:
    """ "occlusal" for the incisal zone of a back tooth."""
    return edge_word if zone == "incisal" else zone
