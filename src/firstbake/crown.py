"""The story in one page: from a case to its plan."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from firstbake.case import Case, NamedSurface
from firstbake.colour import ColourMap, ZoneColour, colour_map, predict_zones
from firstbake.cooling import (
    Crown,
    CrownCooling,
    Risk,
    band_words,
    by_place,
    cool_crown,
    descent_of,
)
from firstbake.errors import BadCase, BadSum
from firstbake.firing import Programme, default_sequence, steam_words
from firstbake.green import Calliper, Green, Mix, build_green, measure_callipers, mix_of
from firstbake.layering import Layers, layer_up
from firstbake.powder import Powder
from firstbake.recipe import CrownRecipe, find_recipe, layer_by
from firstbake.room import Room, find_shells, measure_room, neighbour_bodies
from firstbake.teeth import Frame, find_frame

SPECK_MM2 = 0.3  # a patch smaller than this is not worth a warning (chosen here)

__all__ = ["Plan", "plan_crown", "recipe_for", "room_of_case"]


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
    colour_map: ColourMap | None = None
    recipe: CrownRecipe | None = None
    cooling: CrownCooling | None = None


def room_of_case(case: Case) -> tuple[Frame, Room]:
    """The tooth's axes and the room; the first two steps of a plan.

    raises : BadCase or BadMesh when core and contour do not belong together, and why
    """
    frame = find_frame(
        case.tooth,
        contour=case.contour.surface,
        core=case.core.surface,
        neighbours=neighbour_bodies(case),
        landmarks=case.landmarks,
    )
    return frame, measure_room(case, frame)


def plan_crown(
    case: Case, *, stress: bool = True, progress: Callable[[str], None] = lambda stage: None
) -> Plan:
    """Plan one crown.

    case     : the order, meshes in mm
    stress   : work out what cooling does to the crown as well (a third of the time)
    progress : called with the name of each stage as it begins; raise from it to cancel
    raises   : BadCase or BadMesh when the case cannot be planned, and why
    """
    progress("room")
    frame, room = room_of_case(case)
    case = _covered_core(case, frame)
    progress("layers")
    layers = layer_up(case, frame, room)
    recipe, doubts = recipe_of(case, frame, room, layers=layers)
    if case.use_recipe and recipe is not None:
        case, layers = layer_by(case, frame, room, recipe=recipe)
    progress("green shape")

    def still_green(what: str, share: float) -> bool:
        progress("green shape")
        return True

    green = build_green(case, room, layers=layers, progress=still_green)
    callipers = measure_callipers(case, frame, layers=layers, green=green)
    mix = mix_of(case, layers)
    progress("colour")
    colour = predict_zones(case, frame, room, layers=layers)
    whole = colour_map(case, frame, room, layers=layers)
    progress("firing")
    firing = default_sequence(case.core_material, case.powders, room.thickness_mm[room.veneered])
    crown = Crown(case, frame, room, layers, green.mesh)
    cooling, cracks = cooled(crown, firing, progress=progress) if stress else (None, ())
    warnings = (
        *_frame_warnings(case, frame),
        *room.notes,
        *layers.notes,
        *doubts,
        *_green_warnings(case, green),
        *_pair_warnings(firing),
        *_steam_warnings(firing, room),
        *cracks,
        *_colour_warnings(colour),
        *(note for note in whole.notes if note.startswith("The stump shows")),
    )
    told = tuple(sentence[:1].upper() + sentence[1:] for sentence in warnings)
    return Plan(
        case, frame, room, layers, green, callipers, mix, colour, firing, told, whole, recipe, cooling
    )


def cooled(
    crown: Crown, firing: tuple[Programme, ...], *, progress: Callable[[str], None] = lambda stage: None
) -> tuple[CrownCooling | None, tuple[str, ...]]:
    """Stress after the main bake, and warnings; None, with the reason, where it cannot be worked out."""
    progress("cooling")
    bake = next((p for p in firing if p.bake == "main"), firing[-1])
    way = descent_of(bake.peak_degC, bake.cool_K_per_min, bake.cool_to_degC)
    try:
        cooling = cool_crown(crown, way, progress=lambda share: progress("cooling"))
    except BadSum as error:
        return None, (f"Cooling stress is not worked out: {error}",)
    return cooling, tuple(_crack_warning(place) for place in by_place(cooling.risks))


def _crack_warning(place: tuple[Risk, ...]) -> str:
    """What may crack at a place, why, and what helps most; the figures are those of its worst risk."""
    worst = place[0]
    kinds = " or ".join(risk.what for risk in place)
    helps = " or ".join(h.words for h in worst.helps[:2])
    pull = f"pull {worst.pull_MPa:.0f} ± {worst.doubt_MPa:.0f} MPa"
    return (
        f"Cooling, {worst.where}: {kinds} ({band_words(worst)} risk; {', '.join(worst.drivers)}; {pull}, "
        f"such a layer bears about {worst.bears_MPa:.0f})" + (f"; what lowers it: {helps}" if helps else "")
    )


def recipe_of(
    case: Case, frame: Frame, room: Room, *, layers: Layers
) -> tuple[CrownRecipe | None, tuple[str, ...]]:
    """The recipe for the case's targets, and warnings; None when there are none or no recipe fits.

    Where the plan is to lay the recipe, what stands in its way is a warning; else it is left out quietly.
    """
    if all(getattr(case.target, zone) is None for zone in ("cervical", "body", "incisal")):
        told = "The case asks for its recipe but orders no colour; the usual layers are laid"
        return None, (told,) if case.use_recipe else ()
    try:
        recipe = find_recipe(case, frame, room, layers=layers, powders=pool_of(case))
    except BadCase as error:
        return None, (f"No recipe: {error}; the usual layers are laid",) if case.use_recipe else ()
    return recipe, _recipe_warnings(recipe) if case.use_recipe else ()


def pool_of(case: Case) -> tuple[Powder, ...]:
    """Powders a recipe may choose from: the case's own, and the shelf's where the case says so."""
    own = {powder.name for powder in case.powders}
    further = {powder.name: powder for powder in case.shelf if powder.name not in own}
    return case.powders + tuple(further.values())


def recipe_for(
    case: Case, *, shelf: tuple[Powder, ...], progress: Callable[[str], None] = lambda stage: None
) -> CrownRecipe:
    """The recipe for a case without the rest of a plan; shelf : powders to choose from besides its own.

    raises : BadCase where there is no recipe to look for, and why
    """
    progress("room")
    frame, room = room_of_case(case)
    case = _covered_core(replace(case, shelf=case.shelf + shelf), frame)
    progress("layers")
    layers = layer_up(case, frame, room)
    progress("colour")
    return find_recipe(case, frame, room, layers=layers, powders=pool_of(case))


def _recipe_warnings(recipe: CrownRecipe) -> tuple[str, ...]:
    """Targets out of reach; those that are nearly met stand in the recipe itself."""
    return tuple(
        f"Recipe, {zone.zone} zone: the target is not reached (ΔE00 {zone.delta_e00:.1f} ± "
        f"{zone.difference_doubt_delta_e00:.1f}); {zone.choices[0]}"
        for zone in recipe.zones
        if zone.verdict == "not reached"
    )


def _covered_core(case: Case, frame: Frame) -> Case:
    """The case with the part of a closed core that porcelain covers: no inside of the coping, no root."""
    core = case.core.surface
    if not core.is_closed:
        return case
    shells = find_shells(case.contour.surface, core, frame)
    return case if shells.whole else replace(case, core=NamedSurface(case.core.name, shells.core))


def _frame_warnings(case: Case, frame: Frame) -> tuple[str, ...]:
    """What is doubtful about shape and axes."""
    told = []
    if case.source == "calliper sizes":
        told.append(
            "Contour and core come from calliper sizes, not from meshes: lengths carry a doubt of "
            f"{case.size_doubt_mm:.2f} mm, contacts and clearance are not known"
        )
        told.extend(case.assumed)
    if frame.confidence < 0.5:
        told.append(
            "The tooth's axes are a guess, so places in words and the cut-back may be turned; give "
            "[landmarks] incisal_mid, mesial_contact and distal_contact in the case file"
        )
    elif frame.confidence < 0.8:
        told.append(
            "The tooth's axes come from its shape alone; check that mesial and labial are right on the "
            "sheet, or give [landmarks] in the case file"
        )
    return tuple(told)


def _green_warnings(case: Case, green: Green) -> tuple[str, ...]:
    """Where the column law strains: its mass balance far from closed, folds, hollows too narrow."""
    told = list(green.notes)
    if not 0.8 <= green.mass_closure <= 1.25:
        told.append(
            f"The growth had to be scaled by {green.mass_closure:.2f} to keep the mass of powder; "
            "treat the overbuild as rough and measure after the bake"
        )
    if green.folded_faces:
        told.append(
            f"The green contour folds over itself in {green.folded_faces} triangles, so a former cut from "
            "it needs smoothing there"
        )
    opened = np.zeros(len(green.overbuild_mm), dtype=bool) if green.opened is None else green.opened
    area_mm2 = float(case.contour.surface.vertex_areas_mm2[opened].sum())
    if area_mm2 > SPECK_MM2:
        told.append(
            f"Hollows of the core are too narrow to hold the powder they need over {area_mm2:.1f} mm²; "
            "the build is opened there and will fire short"
        )
    return tuple(told)


def _pair_warnings(firing: tuple[Programme, ...]) -> tuple[str, ...]:
    """Core and powders that do not belong together by their expansion."""
    cautions = dict.fromkeys(caution for programme in firing for caution in programme.cautions)
    return tuple(caution for caution in cautions if "do not belong together" in caution)


def _steam_warnings(firing: tuple[Programme, ...], room: Room) -> tuple[str, ...]:
    """Where the main bake, by the maker's word, dries shorter than the thickest porcelain needs."""
    thickest = float(np.max(room.thickness_mm[room.veneered], initial=0.0))
    told = (steam_words(thickest, bake.dry_s) for bake in firing if bake.bake == "main")
    return tuple(f"Main bake: {words}" for words in told if words)


def _colour_warnings(colour: tuple[ZoneColour, ...]) -> tuple[str, ...]:
    """Where the colour model is weak, naming the zone unless the sentence speaks of all."""
    return tuple(
        sentence if sentence.startswith("All zones") else f"Colour, {zone.zone} zone: {sentence}"
        for zone in colour
        for sentence in zone.weak
    )
