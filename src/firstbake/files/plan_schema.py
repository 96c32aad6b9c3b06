"""The keys of plan.json: a contract; keys may be added, never renamed."""

from pydantic import BaseModel, ConfigDict, Field

from firstbake.files.cooling_out import CoolingOut
from firstbake.files.recipe_schema import RecipeOut

Lab = tuple[float, float, float]
PointMm = tuple[float, float, float]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class CaseOut(_Part):
    """What was planned."""

    code: str
    tooth: str = Field(description="ISO 3950")
    tooth_words: str
    core_material: str
    source: str = Field(description='"meshes" or "calliper sizes"')
    size_doubt_mm: float
    demo: bool


class FrameOut(_Part):
    """The tooth's axes in file coordinates."""

    origin_mm: PointMm
    mesial: PointMm
    labial: PointMm
    incisal: PointMm
    method: str
    confidence: float


class ThicknessOut(_Part):
    """Shortest distance core to contour, by area over the veneered contour, mm."""

    min: float
    p05: float
    median: float
    p95: float
    max: float


class RegionOut(_Part):
    """A patch of the contour where something is wrong."""

    kind: str
    where: str
    area_mm2: float
    worst_mm: float
    depth_mm: float
    at_mm: PointMm
    choices: list[str]


class ContactOut(_Part):
    """The contact with one neighbour; gap less than 0 where they overlap."""

    neighbour: str
    side: str
    gap_mm: float
    area_mm2: dict[str, float] = Field(description="tolerance in um -> contour area nearer than that")
    overlap_mm3: float
    at_mm: PointMm


class ClearanceOut(_Part):
    """Least distance to one opposing surface."""

    opposing: str
    least_mm: float
    where: str
    at_mm: PointMm


class RoomOut(_Part):
    """Room for porcelain."""

    volume_mm3: float
    thickness_mm: ThicknessOut
    thin: list[RegionOut]
    unsupported: list[RegionOut]
    contacts: list[ContactOut]
    clearance_mm: float | None = Field(description="least over all opposing teeth, null without any")
    clearance: list[ClearanceOut]


class LayerOut(_Part):
    """One powder's part of the fired veneer."""

    order: int
    powder: str
    role: str
    volume_mm3: float
    median_mm: float


class OverbuildOut(_Part):
    """Distance from wanted to green contour, mm, by area over the veneered contour."""

    min: float
    median: float
    p95: float
    max: float


class GreenOut(_Part):
    """The shape to build."""

    model: str
    volume_mm3: float
    overbuild_mm: OverbuildOut
    powder_volume_mm3: dict[str, float]
    mass_closure: float = Field(description="growth that the powders need over growth of the mesh")
    residual_um: float | None = Field(
        description="miss after firing on the same mesh that 99 % of the contour nodes keep, without the "
        "last 0.3 mm at the margin; null for the column law"
    )
    error_estimate_um: float | None = Field(description="what the size of the elements does")
    sweeps: int | None
    nodes: int | None
    edge_per_sd_mm: float | None = Field(description="what one sd of packing does at the incisal edge")
    seconds: float | None = Field(description="wall time of the green shape; null when not timed")


class CalliperOut(_Part):
    """One length to measure."""

    name: str
    fired_mm: float = Field(description="out of the furnace, allowances still on")
    green_mm: float
    doubt_mm: float
    finished_mm: float = Field(description="once the allowances are ground off")


class MixOut(_Part):
    """One powder to weigh out."""

    powder: str
    role: str
    placed_g: float
    powder_g: float
    liquid_ml: float
    cost: float | None
    currency: str
    lay_g: float = Field(description="laid on, before the cut-back")
    cut_off_g: float = Field(description="what the cut-back takes off again")


class ColourOut(_Part):
    """Predicted colour of one zone, CIELAB, D65, 2°."""

    zone: str
    lab: Lab
    target: Lab | None
    delta_e00: float | None
    doubt_delta_e00: float
    stack_mm: list[tuple[str, float]]
    words: str
    weak: list[str]
    illuminants: dict[str, Lab] = Field(
        default_factory=dict, description="light -> CIELAB against that light's own white, 2°"
    )
    tp: float | None = Field(
        default=None,
        description="translucency parameter of core and porcelain, tiles 0.03 and 0.87 in contact",
    )
    wi_d: float | None = Field(default=None, description="whiteness index for dentistry")
    masking_delta_e00: float | None = Field(
        default=None,
        description="CIEDE2000 between the plan over this stump and over an ordinary one; null when no stump "
        "was ordered",
    )
    lab_sd: Lab | None = Field(default=None, description="one standard deviation along L*, a*, b*")
    target_doubt_delta_e00: float = Field(
        default=0.0, description="of the target's own reading, 0: not known"
    )
    difference_doubt_delta_e00: float | None = Field(
        default=None, description="of delta_e00: prediction and target together; null without a target"
    )
    optics_doubt: dict[str, str] = Field(
        default_factory=dict, description="powder or core -> what the doubt of its optics rests on"
    )
    metamerism: dict[str, float] | None = Field(
        default=None,
        description="light -> CIEDE2000 by which the match moves from D65 to it; null without a spectrum",
    )
    metamerism_words: str = ""


class ProgrammeOut(_Part):
    """One bake."""

    bake: str
    purpose: str
    dry_s: float
    dry_degC: float
    climb_K_per_min: float
    peak_degC: float
    low_degC: float
    high_degC: float
    hold_s: float
    vacuum_from_degC: float | None
    vacuum_to_degC: float | None
    cool: str
    cool_K_per_min: float | None
    cool_to_degC: float | None
    status: str
    source: str
    cautions: list[str]


class RepairOut(_Part):
    """A change made to a mesh, or what was found of its unit."""

    file: str
    sentence: str


class PlanFile(_Part):
    """The result of firstbake plan."""

    version: str
    case: CaseOut
    frame: FrameOut
    room: RoomOut
    conflicts: list[RegionOut] = Field(description="where least dentine and least enamel do not both fit")
    layers: list[LayerOut]
    green: GreenOut
    callipers: list[CalliperOut]
    mix: list[MixOut]
    colour: list[ColourOut]
    recipe: RecipeOut | None = Field(default=None, description="null where no target asks for one")
    firing: list[ProgrammeOut]
    cooling: CoolingOut | None = Field(default=None, description="null where it was not worked out")
    allowances: dict[str, float]
    limits: dict[str, float]
    sources: dict[str, str] = Field(description="allowance or limit -> where its value comes from")
    warnings: list[str]
    repairs: list[RepairOut]
    inputs: dict[str, str] = Field(description="file -> sha256")


class RoomFile(_Part):
    """The result of firstbake room."""

    version: str
    case: CaseOut
    room: RoomOut
    warnings: list[str]
    repairs: list[RepairOut]
    inputs: dict[str, str]
    points: list["PointOut"] | None = None


class PointOut(_Part):
    """Room at one asked point."""

    x_mm: float
    y_mm: float
    z_mm: float
    thickness_mm: float
