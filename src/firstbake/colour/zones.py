"""What each zone will look like: the stack there, its colour, and how far to trust it."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.colour.curve import thickness_curve
from firstbake.colour.difference import delta_e00
from firstbake.colour.doubt import WEAK_CORE_DEPTH, WEAK_FREE_DEPTH, spread_of
from firstbake.colour.ground import MOUTH_REFLECTANCE, Ground, free_ground, ground_of
from firstbake.colour.hiding import stump_differences
from firstbake.colour.indices import TEST_LIGHTS, metamerism_index, whiteness_index
from firstbake.colour.observer import lab_from_reflectance, srgb_from_lab
from firstbake.colour.optics_doubt import basis_of
from firstbake.colour.paths import Paths, paths_of, translucencies_at
from firstbake.colour.places import ZONES, Place, places_of
from firstbake.colour.recipe import Recipe, scattering_depth, seen_reflectance
from firstbake.colour.words import difference_in_words, metamerism_in_words
from firstbake.colour.zone import Lab, ZoneColour
from firstbake.errors import BadCase
from firstbake.layering import Layers
from firstbake.room import Room
from firstbake.teeth import Frame

Floats = NDArray[np.float64]

_SOME = 0.2


def predict_zones(
    case: Case,
    frame: Frame,
    room: Room,
    *,
    layers: Layers,
    mouth_reflectance: float = MOUTH_REFLECTANCE,
) -> tuple[ZoneColour, ...]:
    """Predicted colour of each zone that has porcelain, cervical first.

    mouth_reflectance : of the open mouth behind a free edge, unit 1
    The prediction is for the geometry in which the case's colours were looked at (case.target.geometry).
    returns : one ZoneColour a zone, key "incisal" also for the occlusal zone of back teeth; a zone with
              fewer than 3 veneered vertices is left out and the first zone's sentences say so
    raises  : BadCase when no zone has porcelain; BadCard when a card's optics do not reach 400 to 700 nm
    Left out: fluorescence, gloss and texture, light that spreads sideways, colour of the cement, change of a
    powder by repeated firing.
    """
    geometry = case.target.geometry
    places = places_of(case, frame, room, layers=layers)
    if not places:
        raise BadCase("no zone of the contour has porcelain over the core; check that core and contour match")
    core = ground_of(case, geometry=geometry)
    back = free_ground(mouth_reflectance)
    general = tuple(_general(case, core, places))
    found = []
    for number, place in enumerate(places):
        recipe = Recipe(
            tuple(powder.optics for powder, _ in place.layers),
            tuple(mm for _, mm in place.layers),
            back if place.free else core,
            geometry,
        )
        found.append(_zone_colour(case, place, recipe, general=general if number == 0 else ()))
    return tuple(found)


def _zone_colour(case: Case, place: Place, recipe: Recipe, *, general: tuple[str, ...]) -> ZoneColour:
    paths = paths_of(recipe)
    spectrum = seen_reflectance(recipe)
    lab = _lab(lab_from_reflectance(spectrum))
    target: Lab | None = getattr(case.target, place.zone)
    spread = spread_of(recipe, free=place.free, size_doubt_mm=case.size_doubt_mm)
    red, green, blue = (float(v) for v in srgb_from_lab(np.array(lab)))
    ground = recipe.ground
    metamerism = _metamerism(case, place.zone, spectrum)
    core = ((ground.name, ground.wall_mm),) if ground.core is not None else ()
    return ZoneColour(
        zone=place.zone,
        lab=lab,
        target=target,
        delta_e00=None if target is None else float(delta_e00(lab, target)),
        doubt_delta_e00=float(spread.delta_e00[0]),
        stack_mm=core + tuple((powder.name, mm) for powder, mm in place.layers),
        srgb=(red, green, blue),
        words=difference_in_words(lab, target),
        weak=general + tuple(_weak(place, recipe)),
        illuminants={light: _lab(lab_from_reflectance(spectrum, illuminant=light)) for light in TEST_LIGHTS},
        tp=float(translucencies_at(paths)[0]),
        wi_d=float(whiteness_index(lab)),
        masking_delta_e00=_masking(case, place, paths),
        lab_sd=_lab(spread.lab[0]),
        reflectance=spectrum,
        reflectance_sd=spread.reflectance[0],
        curve=thickness_curve(place, recipe, size_doubt_mm=case.size_doubt_mm),
        target_doubt_delta_e00=0.0 if target is None else case.target.doubt_delta_e00.get(place.zone, 0.0),
        optics_doubt=_optics_doubt(place, ground),
        metamerism=metamerism,
        metamerism_words=metamerism_in_words(metamerism),
    )


def _optics_doubt(place: Place, ground: Ground) -> dict[str, str]:
    core = {} if ground.core is None else {ground.name: basis_of(ground.core)}
    return core | {powder.name: basis_of(powder.optics) for powder, _ in place.layers}


def _metamerism(case: Case, zone: str, spectrum: Floats) -> dict[str, float]:
    """By light; empty where the target has no spectrum."""
    wanted = case.target.reflectance.get(zone)
    if wanted is None:
        return {}
    return {light: float(metamerism_index(spectrum, wanted, illuminant=light)) for light in TEST_LIGHTS}


def _lab(three: Floats) -> Lab:
    lightness, a, b = (float(v) for v in three)
    return lightness, a, b


def _masking(case: Case, place: Place, paths: Paths) -> float | None:
    if place.free or case.core_material.optics is None:
        return 0.0
    return None if case.target.stump is None else float(stump_differences(case, paths)[0])


def _general(case: Case, core: Ground, places: tuple[Place, ...]) -> Iterable[str]:
    """Sentences that hold for every zone, said once."""
    demo = [powder.name for powder in case.powders if powder.optics.status == "demo"]
    if core.core is not None and (case.core_material.demo or core.core.status == "demo"):
        demo.append(case.core_material.name)
    if demo:
        yield (f"All zones: invented optics ({_and(demo)}); the colours show what kind of change to expect.")
    if core.assumed:
        yield "All zones: no stump colour was given, so a stump of ordinary dentine is assumed."
    missing = [zone for zone in ZONES if zone not in {place.zone for place in places}]
    if missing:
        yield f"The {_and(missing)} zone has no porcelain over the core, so no colour is given for it."


def _weak(place: Place, recipe: Recipe) -> Iterable[str]:
    """Sentences about this zone alone."""
    depth = scattering_depth(recipe)
    if place.free:
        yield ("No core behind the edge: the colour is that of the whole thickness against the open mouth.")
        if depth < WEAK_FREE_DEPTH:
            yield (
                f"The layers at the free edge are thin or clear (scattering depth {depth:.1f}, reliable from "
                f"{WEAK_FREE_DEPTH}); expect a larger error here and judge at try-in."
            )
    elif depth < WEAK_CORE_DEPTH:
        yield (
            f"The layers over the core are thin or clear (scattering depth {depth:.1f}, reliable from "
            f"{WEAK_CORE_DEPTH}); expect a larger error here."
        )
    if _SOME < place.free_share < 1 - _SOME:
        yield (
            f"{100 * place.free_share:.0f} % of this zone has no core behind and will differ from the rest."
        )
    if not place.front:
        yield "No part of this zone faces the front, so all of it stands in for the visible part."
    if not place.layers:
        yield "There is no porcelain to speak of in this zone; the colour is that of the core."


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
