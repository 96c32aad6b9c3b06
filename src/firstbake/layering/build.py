"""layer_up: share the room out among the powders of the case."""

import numpy as np

from firstbake.case import Case
from firstbake.errors import BadCase
from firstbake.layering.amounts import closed_on, counted_mm3
from firstbake.layering.choice import Choice, choose
from firstbake.layering.columns import Parts, enamel_on_columns, split, wishes_of
from firstbake.layering.conflicts import conflicts_of, short_coats
from firstbake.layering.cut_back import CutBack, usual_cut_back
from firstbake.layering.enamel import wanted_mm
from firstbake.layering.field import EXPORT_STEP_MM, CutBackField, prepare_cut_back
from firstbake.layering.layers import Layer, Layers
from firstbake.mesh import Floats, Surface
from firstbake.room import Room
from firstbake.teeth import Frame


def layer_up(case: Case, frame: Frame, room: Room, *, rules: CutBack | None = None) -> Layers:
    """Layer the veneer: coats on the core, dentine to full contour, cut-back, enamel.

    rules  : how to cut back; the usual ones for the tooth when None
    raises : BadCase without a dentine powder, or when no contour vertex is veneered; BadMesh when the rules
             leave no cut-back at all
    One powder: all in dentine, no cut-back. Dentine and enamel: the usual plan. Liner, opaque, opaque dentine
    and transparent are added where the case lists them. Thicknesses add up to the room at every veneered
    vertex (to 0 where the core stands out of the contour), volumes to the room's volume.
    """
    choice = choose(case)
    if rules is None:
        rules = usual_cut_back(case.tooth, case.limits, coats_mm=choice.coats_mm)
    if not room.veneered.any():
        raise BadCase(
            "no part of the contour lies over the core, so there is nothing to veneer; "
            "check that contour and core share the same coordinates"
        )
    if choice.enamel is None and not choice.coats and choice.opaque_dentine is None:
        return _plain(choice, room)
    field = prepare_cut_back(
        case.contour.surface, case.core.surface, frame, room=room, step_mm=EXPORT_STEP_MM
    )
    return _layered(case, choice, field, rules=rules, room=room)


def _plain(choice: Choice, room: Room) -> Layers:
    thickness = np.where(room.veneered, np.maximum(room.thickness_mm, 0.0), 0.0)
    nothing = np.zeros_like(thickness)
    layer = Layer(choice.dentine, thickness, room.volume_mm3, 1)
    return Layers((layer,), None, nothing, nothing, (), choice.notes)


def _layered(case: Case, choice: Choice, field: CutBackField, *, rules: CutBack, room: Room) -> Layers:
    contour = case.contour.surface
    wishes = wishes_of(choice, field.site, rules)
    enamel, wanted = np.zeros_like(room.thickness_mm), np.zeros_like(room.thickness_mm)
    cut_back: Surface | None = None
    level: Floats | None = None
    if choice.enamel is not None:
        cut_back = field.export(rules)
        wanted = field.spread(wanted_mm(field.site, rules))
        enamel = enamel_on_columns(field, rules, contour=contour, room=room)
        level = field.levels_mm(rules)[field.active]
    parts = split(room.thickness_mm, enamel, wishes.spread(field), veneered=room.veneered)
    counted = counted_mm3(field, level, wishes)
    volumes, note = closed_on(room.volume_mm3, counted, dentine=len(choice.coats) + 1)
    layers = _named(choice, parts, volumes)
    notes = choice.notes + ((note,) if note else ()) + short_coats(layers, case, room)
    conflicts = conflicts_of(case, field.reader.frame, room, rules=rules) if choice.enamel else ()
    return Layers(layers, cut_back, parts.enamel_mm + parts.transparent_mm, wanted, conflicts, notes)


def _named(choice: Choice, parts: Parts, volumes_mm3: Floats) -> tuple[Layer, ...]:
    """The layers that have a powder, from the core outward."""
    powders = (*choice.coats, choice.opaque_dentine, choice.dentine, choice.enamel, choice.transparent)
    rows = zip(powders, parts.outward_mm, volumes_mm3.tolist(), strict=True)
    used = [(powder, thickness, volume) for powder, thickness, volume in rows if powder is not None]
    return tuple(Layer(*row, order) for order, row in enumerate(used, start=1))
