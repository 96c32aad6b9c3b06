"""Writing a plan: JSON, bench sheet, meshes and pictures, all or nothing."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from firstbake.crown import Plan
from firstbake.files.case_file import LoadedCase
from firstbake.files.meshes import write_3mf, write_ply, write_stl
from firstbake.files.output import staged_folder
from firstbake.files.pdf import sheet_pdf
from firstbake.files.pictures import Picture, plan_pictures
from firstbake.files.plan_file import plan_file
from firstbake.mesh import Surface
from firstbake.sheet import write_sheet


@dataclass(frozen=True)
class Written:
    """What was written. answer : the sentence that matters; paths : every file, the sheet first."""

    answer: str
    paths: tuple[Path, ...]


def write_plan(loaded: LoadedCase, plan: Plan, target: Path, *, green_s: float | None = None) -> Written:
    """Write all files of a plan into the folder `target`, or none of them.

    Writes plan.json, bench-sheet.pdf, green (PLY with maps, STL, 3MF in mm), green-dentine and
    cut-back-core (green size; PLY, STL, 3MF), cut-back-core-fired.ply, and pictures/*.png.
    A one-powder plan has no cut-back: cut-back-core is then the whole green build.
    green_s : wall time of the green shape, s, for plan.json
    raises  : BadOutput when the place cannot be written to
    """
    sheet = write_sheet(plan)
    pictures = plan_pictures(plan)
    document = plan_file(loaded, plan, green_s=green_s).model_dump_json(indent=2) + "\n"
    with staged_folder(target) as stage:
        (stage / "bench-sheet.pdf").write_bytes(sheet_pdf(sheet, pictures=pictures))
        (stage / "plan.json").write_bytes(document.encode("utf-8"))
        _write_meshes(plan, stage)
        _write_pictures(pictures, stage / "pictures")
        names = sorted(p.relative_to(stage) for p in stage.rglob("*") if p.is_file())
    first = Path("bench-sheet.pdf")
    ordered = [first, *(n for n in names if n != first)]
    return Written(" ".join(filter(None, [sheet.lead, sheet.second])), tuple(target / n for n in ordered))


def _write_meshes(plan: Plan, stage: Path) -> None:
    green = plan.green
    maps = {
        "room_mm": plan.room.thickness_mm,
        "overbuild_mm": green.overbuild_mm,
        "enamel_mm": plan.layers.enamel_mm,
    }
    if green.tension is not None:
        maps["relative_tension"] = np.nan_to_num(green.tension)
    if plan.cooling is not None:
        maps["cooling_pull_MPa"] = np.nan_to_num(plan.cooling.inside_MPa)
        maps["cooling_surface_MPa"] = np.nan_to_num(plan.cooling.surface_MPa)
        maps["cooling_lifting_MPa"] = np.nan_to_num(plan.cooling.lifting_MPa)
    write_ply(stage / "green.ply", green.contour, fields=maps)
    _write_solid(stage, "green", green.contour)
    cut = green.dentine_cut or green.contour
    write_ply(stage / "cut-back-core.ply", cut)
    _write_solid(stage, "cut-back-core", cut)
    if green.dentine_full is not None:
        write_ply(stage / "green-dentine.ply", green.dentine_full)
    if plan.layers.cut_back is not None:
        write_ply(stage / "cut-back-core-fired.ply", plan.layers.cut_back)


def _write_solid(stage: Path, name: str, surface: Surface) -> None:
    write_stl(stage / f"{name}.stl", surface)
    write_3mf(stage / f"{name}.3mf", surface)


def _write_pictures(pictures: tuple[Picture, ...], folder: Path) -> None:
    folder.mkdir()
    for picture in pictures:
        (folder / f"{picture.name}.png").write_bytes(picture.png)
