"""Writing what a build becomes: fired.ply and bake.json."""

from pathlib import Path

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from firstbake import __version__
from firstbake.files.case_file import LoadedCase
from firstbake.files.meshes import ReadMesh, write_ply
from firstbake.files.output import staged_folder
from firstbake.files.plan_file import case_out, repairs_out
from firstbake.files.plan_schema import CaseOut, RepairOut
from firstbake.green import Baked
from firstbake.mesh import Floats


class DeviationOut(BaseModel):
    """Signed distance of the fired surface, um, greater than 0 where too much; by area."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    min: float
    median: float
    max: float
    rms: float
    p99_abs: float = Field(description="99 % of the surface lies nearer than this")


class BakeFile(BaseModel):
    """The result of firstbake bake."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    version: str
    case: CaseOut
    green: str
    deviation_um: DeviationOut = Field(description="to the wanted contour plus fired allowances")
    over_contour_um: DeviationOut = Field(description="to the wanted contour itself, before grinding")
    counted_area_mm2: float
    green_volume_mm3: float
    fired_volume_mm3: float
    greatest_porosity: float
    nodes: int
    repairs: list[RepairOut]
    inputs: dict[str, str]


def write_bake(loaded: LoadedCase, baked: Baked, *, green: Path, read: ReadMesh, target: Path) -> BakeFile:
    """Write fired.ply and bake.json into the folder `target`, or neither. raises : BadOutput"""
    document = _document(loaded, baked, green=green, read=read)
    maps = {
        "deviation_mm": baked.deviation_mm,
        "porosity": baked.porosity,
        "relative_tension": baked.tension,
    }
    with staged_folder(target) as stage:
        write_ply(stage / "fired.ply", baked.fired, fields=maps)
        (stage / "bake.json").write_bytes((document.model_dump_json(indent=2) + "\n").encode("utf-8"))
    return document


def _document(loaded: LoadedCase, baked: Baked, *, green: Path, read: ReadMesh) -> BakeFile:
    weights = np.where(baked.counted, baked.fired.vertex_areas_mm2, 0.0)
    return BakeFile(
        version=__version__,
        case=case_out(loaded),
        green=green.name,
        deviation_um=_deviation(baked.deviation_mm, weights),
        over_contour_um=_deviation(baked.over_contour_mm, weights),
        counted_area_mm2=float(weights.sum()),
        green_volume_mm3=baked.volume_mm3,
        fired_volume_mm3=baked.fired_volume_mm3,
        greatest_porosity=float(baked.porosity[baked.counted].max()),
        nodes=baked.nodes,
        repairs=[
            *repairs_out(loaded.repairs),
            *_unit_found(green, read),
            *(RepairOut(file=green.name, sentence=repair.sentence) for repair in read.repairs),
        ],
        inputs={**loaded.inputs, green.name: read.digest},
    )


def _unit_found(green: Path, read: ReadMesh) -> tuple[RepairOut, ...]:
    """What unit the build was taken to be in, where only its size could tell and it is not mm."""
    if read.unit_from != "size" or read.unit == "mm":
        return ()
    return (RepairOut(file=green.name, sentence=f"unit {read.unit}, found from the size"),)


def _deviation(values_mm: Floats, weights: Floats) -> DeviationOut:
    kept = weights > 0
    values, shares = values_mm[kept] * 1000, weights[kept]

    def quantile(of: Floats, share: float) -> float:
        return float(np.quantile(of, share, weights=shares, method="inverted_cdf"))

    return DeviationOut(
        min=float(values.min()),
        median=quantile(values, 0.5),
        max=float(values.max()),
        rms=float(np.sqrt(np.average(values**2, weights=shares))),
        p99_abs=quantile(np.abs(values), 0.99),
    )
