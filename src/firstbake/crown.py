"""The story in one page: from a case to its plan."""

from collections.abc import Callable
from dataclasses import dataclass

from firstbake.case import Case
from firstbake.colour import ZoneColour, predict_zones
from firstbake.firing import Programme, default_sequence
from firstbake.green import Calliper, Green, Mix, build_green, measure_callipers, mix_of
from firstbake.layering import Layers, layer_up
from firstbake.room import Room, measure_room
from firstbake.teeth import Frame, find_frame

__all__ = ["Plan", "plan_crown"]


@dataclass(frozen=True, eq=False)
class Plan:
    """All that was computed for one case; arrays follow the vertices of case.contour.surface."""

    case: Case
    frame: Frame
    room: Room
    layers: Layers
    green: Green
    callipers: tuple[Calliper, ...]
    mix: tuple[Mix, ...]
    colour: tuple[ZoneColour, ...]
    firing: tuple[Programme, ...]
    warnings: tuple[str, ...]


def plan_crown(case: Case, *, progress: Callable[[str], None] = lambda stage: None) -> Plan:
    """Plan one crown.

    case     : the order, meshes in mm
    progress : called with the name of each stage as it begins; raise from it to cancel
    raises   : BadCase or BadMesh when the case cannot be planned, and why
    """
    progress("room")
    frame = find_frame(
        case.tooth,
        contour=case.contour.surface,
        core=case.core.surface,
        neighbours=tuple(n.surface for n in case.neighbours),
        landmarks=case.landmarks,
    )
    room = measure_room(case, frame)
    progress("layers")
    layers = layer_up(case, frame, room)
    progress("green shape")
    green = build_green(case, frame, room, layers=layers)
    callipers = measure_callipers(case, frame, layers=layers, green=green)
    mix = mix_of(case, layers)
    progress("colour")
    colour = predict_zones(case, frame, room, layers=layers)
    progress("firing")
    firing = default_sequence(case.core_material, tuple(case.powders), room.thickness_mm)
    return Plan(case, frame, room, layers, green, callipers, mix, colour, firing, ())
