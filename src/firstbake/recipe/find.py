"""From a case to its recipe: what is asked, the search, the answer."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firstbake.case import Case
from firstbake.colour import (
    ACCEPTABLE_DELTA_E00,
    ORDINARY_STUMP,
    Ground,
    LowerEnd,
    Place,
    Recipe,
    basis_of,
    difference_in_words,
    doubt_of,
    free_ground,
    ground_of,
    places_of,
    reflectance_within,
    stack_of,
)
from firstbake.errors import BadCase
from firstbake.layering import Layers
from firstbake.powder import Optics, Powder
from firstbake.recipe.amounts import portions_of, zone_volumes_mm3
from firstbake.recipe.answer import Alternative, CrownRecipe, Limit, ZoneRecipe
from firstbake.recipe.asked import OUTSIDE, Asked, Lab, PowderSet
from firstbake.recipe.batch import places_of_set, share_of, slot_of
from firstbake.recipe.rank import REACHED, choose_set, in_order, verdict_of
from firstbake.recipe.search import Ranked, ZoneFit, search
from firstbake.recipe.sets import sets_of
from firstbake.recipe.why import limits_of
from firstbake.room import Room
from firstbake.teeth import Frame

ALTERNATIVES = 5
_BACK_SHARE = 0.45
_WORDS = {"cervical": "neck", "body": "middle", "incisal": "edge"}


@dataclass(frozen=True, eq=False)
class Question:
    """The zones with a target, and the ground under each."""

    zones: tuple[Asked, ...]
    grounds: tuple[Ground, ...]
    notes: tuple[str, ...]


def question_of(case: Case, frame: Frame, room: Room, *, layers: Layers) -> Question:
    """What the case asks: the room of each zone as the present layers fill it, its ground and its target.

    All in the geometry in which the case's colours were looked at.

    raises : BadCase when no zone has a target
    """
    zones, grounds, notes = [], [], []
    geometry = case.target.geometry
    core = ground_of(case, geometry=geometry)
    plain = _ordinary(case, core, geometry)
    for place in places_of(case, frame, room, layers=layers):
        target: Lab | None = getattr(case.target, place.zone)
        if target is None:
            notes.append(f"No colour was ordered for the {_WORDS[place.zone]}, so it has no recipe.")
            continue
        ground = free_ground() if place.free else core
        zones.append(
            Asked(
                place.zone,
                target,
                float(sum(mm for _, mm in place.layers)),
                end_of(ground),
                None if place.free or plain is None else end_of(plain),
                place.free,
                _back_share(place) if place.free else 0.0,
            )
        )
        grounds.append(ground)
    if not zones:
        raise BadCase(
            "no zone has a target colour, so there is nothing to look for; write [target] cervical, body or "
            "incisal in the case file"
        )
    return Question(tuple(zones), tuple(grounds), tuple(notes))


def end_of(ground: Ground) -> LowerEnd:
    """All that lies under the porcelain as one end: a translucent core is summed with what is under it."""
    if ground.core is None:
        return ground.end
    stack = stack_of([ground.core], ground.end)
    return LowerEnd(reflectance_within(stack, np.array([ground.wall_mm])), ground.core.index)


def _ordinary(case: Case, core: Ground, geometry: str) -> Ground | None:
    if case.target.stump is None or core.stump is None:
        return None
    return ground_of(case, geometry=geometry, stump=ORDINARY_STUMP)


def _back_share(place: Place) -> float:
    """Share of enamel and transparent behind the dentine in the stack from back to front."""
    roles = [powder.role for powder, _ in place.layers]
    whole = sum(mm for powder, mm in place.layers if powder.role in OUTSIDE)
    if whole <= 0 or "dentine" not in roles:
        return _BACK_SHARE
    behind = sum(mm for powder, mm in place.layers[: roles.index("dentine")] if powder.role in OUTSIDE)
    return behind / whole


def find_recipe(
    case: Case,
    frame: Frame,
    room: Room,
    *,
    layers: Layers,
    powders: tuple[Powder, ...] | None = None,
) -> CrownRecipe:
    """Which powders, and how thick in each zone, to land on the case's targets.

    layers  : a first layering; only its zones' total thicknesses count, all of which the recipe fills again
    powders : to choose from; those of the case when None. Powders that do not suit the core are left out
    raises  : BadCase without targets, without a dentine that suits the core, or when no set fits the room
    """
    geometry = case.target.geometry
    question = question_of(case, frame, room, layers=layers)
    pool = case.powders if powders is None else powders
    sets, notes = sets_of(case.core_material, pool, case.limits)
    if not sets:
        raise BadCase(
            f"no dentine powder suits {case.core_material.name} by its expansion; add one to [[powders]]"
        )
    found = search(question.zones, sets, geometry=geometry, hide_delta_e00=ACCEPTABLE_DELTA_E00)
    if not found:
        raise BadCase(_no_room(question.zones))
    ordered = in_order(found)
    chosen = choose_set(ordered)
    volumes = zone_volumes_mm3(case, frame, room)
    by_name = {powder.name: powder for powder in pool}
    zones = tuple(
        _zone(case, fit, ground, sets=sets, geometry=geometry)
        for fit, ground in zip(chosen.zones, question.grounds, strict=True)
    )
    others = [ranked for ranked in ordered if ranked is not chosen][:ALTERNATIVES]
    return CrownRecipe(
        powders=tuple(by_name[name] for name in chosen.powders.names),
        zones=zones,
        robust_delta_e00=chosen.robust_delta_e00,
        portions=portions_of(chosen, by_name, volumes, case.allowances.slab_waste),
        alternatives=tuple(_alternative(case, ranked, by_name, volumes) for ranked in others),
        tried=len(found),
        geometry=geometry,
        notes=question.notes + notes,
    )


def _no_room(zones: Sequence[Asked]) -> str:
    least = min(zones, key=lambda asked: asked.room_mm)
    return (
        f"the {_WORDS[least.zone]} has {least.room_mm:.2f} mm of room, too little for the least layers of "
        "these powders; make room there or lower [limits] least_dentine_mm and least_enamel_mm"
    )


def stack_of_fit(fit: ZoneFit) -> list[tuple[str, Optics, float]]:
    """(powder, optics, mm) as light meets them from below; at a free edge from back to front."""
    share = fit.asked.back_share if fit.asked.free else 0.0
    found = [
        (i.name, i.optics, float(fit.slots_mm[slot_of(place)]) * share_of(place, share))
        for place, i in places_of_set(fit.powders, free=fit.asked.free)
    ]
    return [layer for layer in found if layer[2] > 0]


def _zone(
    case: Case, fit: ZoneFit, ground: Ground, *, sets: Sequence[PowderSet], geometry: str
) -> ZoneRecipe:
    stack = stack_of_fit(fit)
    whole = Recipe(tuple(o for _, o, _ in stack), tuple(mm for _, _, mm in stack), ground, geometry)
    verdict = verdict_of(fit.delta_e00)
    limits: tuple[Limit, ...] = ()
    choices: tuple[str, ...] = ()
    if verdict != REACHED:
        limits, choices = limits_of(fit, sets, geometry=geometry, zone=_WORDS[fit.asked.zone])
    return ZoneRecipe(
        zone=fit.asked.zone,
        layers_mm=tuple((name, mm) for name, _, mm in stack),
        room_mm=fit.asked.room_mm,
        lab=fit.lab,
        target=fit.asked.target,
        delta_e00=fit.delta_e00,
        robust_delta_e00=fit.robust_delta_e00,
        doubt_delta_e00=doubt_of(whole, free=fit.asked.free, size_doubt_mm=case.size_doubt_mm),
        verdict=verdict,
        reached=verdict == REACHED,
        stump_delta_e00=fit.stump_delta_e00,
        words=difference_in_words(fit.lab, fit.asked.target),
        free=fit.asked.free,
        limits=limits,
        choices=choices,
        target_doubt_delta_e00=case.target.doubt_delta_e00.get(fit.asked.zone, 0.0),
        optics_doubt=_optics_doubt(stack, ground),
    )


def _optics_doubt(stack: Sequence[tuple[str, Optics, float]], ground: Ground) -> dict[str, str]:
    core = {} if ground.core is None else {ground.name: basis_of(ground.core)}
    return core | {name: basis_of(optics) for name, optics, _ in stack}


def _alternative(
    case: Case, ranked: Ranked, by_name: dict[str, Powder], volumes: dict[str, float]
) -> Alternative:
    return Alternative(
        powders=ranked.powders.names,
        zones=tuple(
            (fit.asked.zone, tuple((name, mm) for name, _, mm in stack_of_fit(fit)), fit.delta_e00)
            for fit in ranked.zones
        ),
        worst_delta_e00=ranked.worst_delta_e00,
        robust_delta_e00=ranked.robust_delta_e00,
        reached=all(verdict_of(fit.delta_e00) == REACHED for fit in ranked.zones),
        portions=portions_of(ranked, by_name, volumes, case.allowances.slab_waste),
    )
