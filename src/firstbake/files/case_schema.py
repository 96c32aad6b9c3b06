"""The case file's keys, checked: what may stand in CASE.toml."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, FiniteFloat, model_validator

Colour = tuple[
    Annotated[FiniteFloat, Field(ge=0, le=100, description="L*")],
    Annotated[FiniteFloat, Field(ge=-128, le=127, description="a*")],
    Annotated[FiniteFloat, Field(ge=-128, le=127, description="b*")],
]
PointMm = tuple[FiniteFloat, FiniteFloat, FiniteFloat]
Length = Annotated[FiniteFloat, Field(ge=0, le=10)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class CaseTable(_Table):
    """[case]: what the crown is."""

    code: Annotated[str, Field(min_length=1, max_length=60, description="case code, never a patient name")]
    tooth: Annotated[str, Field(pattern=r"^[1-4][1-8]$", description="ISO 3950 number, two digits")]
    demo: bool = Field(default=False, description="true for invented data")
    note: str = Field(default="", max_length=2000)


class MeshesTable(_Table):
    """[meshes]: files, relative to the case file or absolute; STL, PLY, OBJ or 3MF."""

    core: str = Field(description="outer surface of the coping, closed or open at the margin")
    contour: str = Field(description="wanted outer contour, closed or open")
    neighbours: list[str] = Field(default_factory=list)
    opposing: list[str] = Field(default_factory=list)
    unit: Literal["um", "mm", "cm", "inch", "m"] | None = Field(
        default=None, description="unit of the mesh files; found from the size when left out"
    )


class RoomSpots(_Table):
    """[sizes.room]: room between core and wanted contour measured by calliper, mm."""

    labial_cervical_mm: Length | None = None
    labial_middle_mm: Length | None = None
    labial_incisal_mm: Length | None = None
    incisal_mm: Length | None = Field(default=None, description="from the core's edge to the incisal edge")
    palatal_mm: Length | None = None
    mesial_mm: Length | None = None
    distal_mm: Length | None = None


class SizesTable(_Table):
    """[sizes]: calliper sizes of the wanted crown, instead of [meshes]."""

    crown_height_mm: Annotated[FiniteFloat, Field(ge=4, le=16)]
    mesiodistal_mm: Annotated[FiniteFloat, Field(ge=3, le=16)]
    labiopalatal_mm: Annotated[FiniteFloat, Field(ge=3, le=16)]
    core_wall_mm: Annotated[FiniteFloat, Field(gt=0, le=2)] | None = None
    room: RoomSpots = RoomSpots()


class CoreTable(_Table):
    """[core]: the core's material, a card on the shelf."""

    material: str = Field(min_length=1, description="name on the shelf, or the path of a card file")
    wall_mm: Annotated[FiniteFloat, Field(gt=0, le=5)] | None = Field(
        default=None, description="wall thickness of this core; the card's usual wall when left out"
    )


ColourFile = Annotated[str, Field(min_length=1)] | None
_FILE_WORDS = (
    "instead of three numbers: a CGATS, CxF3 or CSV file, relative to this file; with several colours in it, "
    "the one named like the zone, or file.csv#name"
)


class TargetTable(_Table):
    """[target]: wanted colours, CIELAB, D65, 2°, or files with spectra or Lab."""

    cervical: Colour | None = None
    body: Colour | None = None
    incisal: Colour | None = None
    stump: Colour | None = None
    cervical_file: ColourFile = Field(default=None, description=_FILE_WORDS)
    body_file: ColourFile = Field(default=None, description=_FILE_WORDS)
    incisal_file: ColourFile = Field(default=None, description=_FILE_WORDS)
    stump_file: ColourFile = Field(default=None, description=_FILE_WORDS)
    geometry: Literal["45/0", "d/8 specular included", "d/8 specular excluded"] | None = Field(
        default=None,
        description="how the colours were looked at; readings of files are converted to it, or refused. "
        "Left out: that of the files when they agree, else 45/0",
    )


class PowderTable(_Table):
    """[[powders]]: a powder to plan with."""

    card: str = Field(
        min_length=1,
        description="name on the shelf, or the path of a card file, or "
        '"mix of CARD and CARD 70:30", parts by weight',
    )


class AllowancesTable(_Table):
    """[allowances]: added on top of shrinkage; the cards' values when left out."""

    grind_off_mm: Annotated[FiniteFloat, Field(ge=0, le=1)] | None = None
    contact_mm: Annotated[FiniteFloat, Field(ge=0, le=1)] | None = None
    slab_waste: Annotated[FiniteFloat, Field(ge=0, lt=0.95)] | None = None


class LimitsTable(_Table):
    """[limits]: what counts as too thin or unsupported in this case."""

    least_veneer_mm: Annotated[FiniteFloat, Field(gt=0, le=3)] | None = None
    most_unsupported_mm: Annotated[FiniteFloat, Field(gt=0, le=6)] | None = None
    least_dentine_mm: Annotated[FiniteFloat, Field(ge=0, le=2)] | None = None
    least_enamel_mm: Annotated[FiniteFloat, Field(ge=0, le=2)] | None = None
    margin_band_mm: Annotated[FiniteFloat, Field(ge=0, le=4)] | None = None


class RecipeTable(_Table):
    """[recipe]: whether the plan lays the recipe found for the targets."""

    use: bool = Field(default=False, description="lay the recipe instead of the usual layers")
    choose_from: Literal["case", "shelf"] = Field(
        default="case", description="powders it may take: the case's own, or all on the shelf"
    )


class LandmarksTable(_Table):
    """[landmarks]: points in the coordinates and unit of the mesh files."""

    incisal_mid: PointMm | None = None
    mesial_contact: PointMm | None = None
    distal_contact: PointMm | None = None
    labial_mid: PointMm | None = None


class CaseFile(_Table):
    """A firstbake case file."""

    case: CaseTable
    meshes: MeshesTable | None = None
    sizes: SizesTable | None = None
    core: CoreTable
    target: TargetTable = TargetTable()
    powders: Annotated[list[PowderTable], Field(min_length=1)]
    allowances: AllowancesTable = AllowancesTable()
    limits: LimitsTable = LimitsTable()
    landmarks: LandmarksTable = LandmarksTable()
    recipe: RecipeTable = RecipeTable()

    @model_validator(mode="after")
    def _one_source_of_shape(self) -> "CaseFile":
        if (self.meshes is None) == (self.sizes is None):
            raise ValueError(
                "the case needs either [meshes] (core and contour files) or [sizes] (calliper sizes), "
                + ("not both" if self.meshes else "and has neither")
            )
        return self
