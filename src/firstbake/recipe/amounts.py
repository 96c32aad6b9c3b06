"""Grams and price of a recipe, by the rules of the mix."""

import numpy as np

from firstbake.case import Case
from firstbake.green import weighed
from firstbake.powder import Powder
from firstbake.recipe.answer import Portion
from firstbake.recipe.asked import SLOTS
from firstbake.recipe.search import Ranked
from firstbake.room import Room
from firstbake.teeth import Frame, zone_of

_ZONES = ("cervical", "body", "incisal")
_OUTSIDE = ("enamel", "transparent")


def zone_volumes_mm3(case: Case, frame: Frame, room: Room) -> dict[str, float]:
    """Fired porcelain of each zone, all round the tooth, mm³; they add up to the room's volume."""
    surface = case.contour.surface
    zone = zone_of(frame, surface.vertices_mm)
    weight = surface.vertex_areas_mm2 * np.where(room.veneered, np.maximum(room.thickness_mm, 0.0), 0.0)
    parts = np.array([weight[zone == number].sum() for number in range(len(_ZONES))])
    return dict(zip(_ZONES, (room.volume_mm3 * parts / max(parts.sum(), 1e-12)).tolist(), strict=True))


def portions_of(
    ranked: Ranked, powders: dict[str, Powder], volumes_mm3: dict[str, float], waste: float
) -> tuple[Portion, ...]:
    """What to weigh of each powder, before allowances for grinding.

    The layers of a zone share its volume as they share its thickness; zones without a target take the mean
    of the others. Dentine is built to full contour first, so what lies outside it is laid in dentine too.
    """
    shares = {fit.asked.zone: fit.slots_mm / fit.asked.room_mm for fit in ranked.zones}
    mean = np.mean(list(shares.values()), axis=0)
    filled = np.zeros(len(SLOTS))
    for zone, volume in volumes_mm3.items():
        filled += volume * np.asarray(shares.get(zone, mean))
    placed = {i.name: float(filled[SLOTS.index(i.role)]) for i in ranked.powders.ingredients}
    outside = sum(
        placed[i.name] * powders[i.name].volume_factor
        for i in ranked.powders.ingredients
        if i.role in _OUTSIDE
    )
    found = []
    for i in ranked.powders.ingredients:
        powder = powders[i.name]
        more = outside / powder.volume_factor if i.role == "dentine" else 0.0
        mix = weighed(powder, laid_mm3=placed[i.name] + more, placed_mm3=placed[i.name], waste=waste)
        found.append(Portion(powder.name, powder.role, mix.powder_g, mix.cost, mix.currency))
    return tuple(found)
