"""Where the layers do not all fit, and what can be done about it."""

from typing import Protocol

import numpy as np

from firstbake.case import Case
from firstbake.layering.cut_back import CutBack
from firstbake.layering.layers import Layer
from firstbake.room import Region, Room, regions_of
from firstbake.teeth import Frame

_SHORT_SHARE = 0.02
_NOTHING_MM = -1e-9


class _Spot(Protocol):
    """What the choices look at: how much is missing at the worst vertex, and the room there, mm."""

    @property
    def depth_mm(self) -> float: ...

    @property
    def value_mm(self) -> float: ...


def conflicts_of(case: Case, frame: Frame, room: Room, *, rules: CutBack) -> tuple[Region, ...]:
    """Patches away from the margin where coats, least dentine and least enamel do not all fit."""
    within = room.veneered & (room.margin_mm > case.limits.margin_band_mm)
    missing = np.where(within, rules.least_room_mm - room.thickness_mm, _NOTHING_MM)
    return regions_of(
        case.contour.surface,
        missing,
        kind="layers do not fit",
        frame=frame,
        value_mm=room.thickness_mm,
        choices=lambda spot: _choices(spot, case, rules),
    )


def _choices(spot: _Spot, case: Case, rules: CutBack) -> tuple[str, ...]:
    """What can be done about one place, most useful first: move, thin, accept, ask."""
    there = max(spot.value_mm, 0.0)
    ways = [f"move the contour out by {spot.depth_mm:.2f} mm here, if neighbours and bite allow it"]
    wall = case.core_material.least_wall_mm.value
    ways.append(f"thin the core by {spot.depth_mm:.2f} mm here, if its wall stays above {wall:.2f} mm")
    if rules.coats_mm > 0:
        ways.append(f"leave out the coats here: {rules.coats_mm:.2f} mm are saved, the core shows more")
    if rules.least_room_mm > 0 and there > 0:
        part = there / rules.least_room_mm
        ways.append(
            f"accept thin layers: the plan puts {rules.least_enamel_mm * part:.2f} mm enamel over "
            f"{(rules.least_dentine_mm + rules.coats_mm) * part:.2f} mm dentine here"
        )
    ways.append("leave out the enamel here and stain the dentine at the glaze")
    ways.append(f"ask the dentist for {spot.depth_mm:.1f} mm more reduction")
    return tuple(ways)


def short_coats(layers: tuple[Layer, ...], case: Case, room: Room) -> tuple[str, ...]:
    """One sentence for each thin layer that is under its least thickness somewhere away from the margin."""
    away = room.veneered & (room.margin_mm > case.limits.margin_band_mm)
    area = case.contour.surface.vertex_areas_mm2
    sentences = []
    for layer in layers:
        if layer.powder.role not in ("liner", "opaque"):
            continue
        least = layer.powder.least_mm.value
        short = away & (layer.thickness_mm < least - 1e-9)
        missing = float(area[short].sum())
        if missing > _SHORT_SHARE * float(area[away].sum()):
            thinnest = float(np.min(layer.thickness_mm[short]))
            sentences.append(
                f"{layer.powder.name} is thinner than its least {least:.2f} mm on {missing:.1f} mm² "
                f"for want of room, {max(thinnest, 0.0):.2f} mm at the worst place."
            )
    return tuple(sentences)
