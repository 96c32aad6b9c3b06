"""Lead: the sentence that matters, and the second one on colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from firstbake.colour import ZoneColour
from firstbake.room import Region, Room
from firstbake.sheet.words import number, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

SPECK_MM = 0.05  # a shortage that no calliper reads is not counted (a bench calliper reads 0.05 mm)
_ACCEPTABLE = 1.8  # CIEDE2000 half of viewers accept: Paravina et al. 2015, J Esthet Restor Dent 27 S1


def counted(regions: Sequence[Region]) -> list[Region]:
    """Regions that miss their limit by more than a calliper reads."""
    return [region for region in regions if region.depth_mm >= SPECK_MM]


def lead_of(room: Room) -> str:
    """The state of the room in one sentence, worst place first."""
    thin = counted(room.thin)
    if not thin:
        return _enough(room)
    worst = min(thin, key=lambda region: region.worst_mm)
    count = len({region.where for region in thin})
    if worst.worst_mm < 0:
        out = f"The core stands out by {with_unit(-worst.worst_mm, 2, 'mm')}, {worst.where}"
        more = "" if count == 1 else f"; short in {count - 1} more place{'s' if count > 2 else ''}"
        return f"{out}{more}."
    spot = f"{with_unit(worst.worst_mm, 2, 'mm')}, {worst.where}"
    if count == 1:
        return f"Room is short in one place: {spot}."
    return f"Room is short in {count} places, worst {spot}."


def _enough(room: Room) -> str:
    loose = counted(room.unsupported)
    if not loose:
        return "Room is enough everywhere."
    worst = max(loose, key=lambda region: region.worst_mm)
    return f"Room is enough; {with_unit(worst.worst_mm, 2, 'mm')} stand without support, {worst.where}."


def plan_lead(plan: Plan) -> str:
    """As lead_of; a case without meshes says that its room was not measured."""
    if plan.case.source == "meshes":
        return lead_of(plan.room)
    said = lead_of(plan.room)
    return f"From your sizes: {said[0].lower()}{said[1:]} Measure wall and room at five points."


def colour_lead(plan: Plan) -> str:
    """What colour misses most, where it misses by more than its doubt and what half of viewers accept."""
    missed = [z for z in plan.colour if z.delta_e00 is not None and _miss(z) > _ACCEPTABLE]
    if not missed:
        return ""
    worst = max(missed, key=_miss)
    zone = zone_word(plan, worst.zone)
    return (
        f"Colour, {zone}: {worst.words}, ΔE00 {number(worst.delta_e00 or 0.0, 1)} "
        f"± {number(worst.doubt_delta_e00, 1)}. Not reached with these powders: another dentine, another "
        "core colour, more room, or ask."
    )


def second_lead(plan: Plan) -> str:
    """What else wants an answer before powder is wet: pair, bite, colour, each one sentence."""
    said = ["Core and powder do not belong together: expect cracks."] if _mismatched(plan) else []
    bite = plan.room.least_clearance_mm
    if bite is not None and bite < 0:
        said.append(f"The opposing tooth stands {with_unit(-bite, 2, 'mm')} into the contour.")
    return " ".join([*said, *filter(None, [colour_lead(plan)])])


def _mismatched(plan: Plan) -> bool:
    return any("do not belong together" in warning for warning in plan.warnings)


def _miss(zone: ZoneColour) -> float:
    return (zone.delta_e00 or 0.0) - zone.doubt_delta_e00


def zone_word(plan: Plan, zone: str) -> str:
    """The zone in the words of this tooth: back teeth have an occlusal zone."""
    return plan.frame.tooth.edge_word if zone == "incisal" else zone
