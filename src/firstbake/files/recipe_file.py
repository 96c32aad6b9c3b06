"""From a recipe to JSON, alone and inside plan.json."""

from dataclasses import asdict
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from firstbake import __version__
from firstbake.files import recipe_schema as out
from firstbake.files.case_file import LoadedCase
from firstbake.files.case_target import MeshNote
from firstbake.files.output import staged_folder
from firstbake.files.plan_schema import CaseOut, RepairOut
from firstbake.recipe import Alternative, CrownRecipe, Portion, ZoneRecipe


class RecipeFile(BaseModel):
    """The result of firstbake recipe."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    version: str
    case: CaseOut
    recipe: out.RecipeOut
    repairs: list[RepairOut]
    inputs: dict[str, str]


def recipe_out(recipe: CrownRecipe, *, used: bool) -> out.RecipeOut:
    """plan.json's "recipe"; used : True where the plan lays it."""
    return out.RecipeOut(
        used=used,
        powders=[powder.name for powder in recipe.powders],
        zones=[_zone(zone) for zone in recipe.zones],
        robust_delta_e00=recipe.robust_delta_e00,
        reached=recipe.reached,
        portions=_portions(recipe.portions),
        alternatives=[_alternative(other) for other in recipe.alternatives],
        tried=recipe.tried,
        geometry=recipe.geometry,
        notes=list(recipe.notes),
    )


def _zone(zone: ZoneRecipe) -> out.ZoneRecipeOut:
    return out.ZoneRecipeOut(
        zone=zone.zone,
        layers_mm=list(zone.layers_mm),
        room_mm=zone.room_mm,
        free=zone.free,
        lab=zone.lab,
        target=zone.target,
        delta_e00=zone.delta_e00,
        robust_delta_e00=zone.robust_delta_e00,
        doubt_delta_e00=zone.doubt_delta_e00,
        band_delta_e00=zone.band_delta_e00,
        verdict=zone.verdict,
        reached=zone.reached,
        stump_delta_e00=zone.stump_delta_e00,
        words=zone.words,
        limits=[out.LimitOut(**asdict(limit)) for limit in zone.limits],
        choices=list(zone.choices),
        target_doubt_delta_e00=zone.target_doubt_delta_e00,
        difference_doubt_delta_e00=zone.difference_doubt_delta_e00,
        optics_doubt=dict(zone.optics_doubt),
    )


def _portions(portions: tuple[Portion, ...]) -> list[out.PortionOut]:
    return [out.PortionOut(**asdict(portion)) for portion in portions]


def _alternative(other: Alternative) -> out.AlternativeOut:
    return out.AlternativeOut(
        powders=list(other.powders),
        zones=[
            out.AlternativeZoneOut(zone=zone, layers_mm=list(layers), delta_e00=delta)
            for zone, layers, delta in other.zones
        ],
        worst_delta_e00=other.worst_delta_e00,
        robust_delta_e00=other.robust_delta_e00,
        reached=other.reached,
        portions=_portions(other.portions),
    )


def recipe_file(loaded: LoadedCase, recipe: CrownRecipe, *, case: CaseOut) -> RecipeFile:
    """The result of firstbake recipe; case : its head."""
    return RecipeFile(
        version=__version__,
        case=case,
        recipe=recipe_out(recipe, used=False),
        repairs=[_repair(note) for note in loaded.repairs],
        inputs=loaded.inputs,
    )


def _repair(note: MeshNote) -> RepairOut:
    return RepairOut(file=note.file, sentence=note.sentence)


def write_recipe(document: RecipeFile, target: Path) -> Path:
    """Write recipe.json into the folder `target`; returns its path. raises : BadOutput"""
    with staged_folder(target) as stage:
        (stage / "recipe.json").write_bytes((document.model_dump_json(indent=2) + "\n").encode("utf-8"))
    return target / "recipe.json"
