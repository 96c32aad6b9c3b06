"""The keys of recipe.json and of plan.json's "recipe": a contract; keys may be added, never renamed."""

from pydantic import BaseModel, ConfigDict, Field

Lab = tuple[float, float, float]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class LimitOut(_Part):
    """One thing that keeps a zone from its target, found by solving again without it."""

    what: str = Field(description='"room", "stump", "core", "powders", "lightness" or "chroma"')
    delta_e00: float = Field(description="what could be reached without it")
    words: str


class ZoneRecipeOut(_Part):
    """One zone of the recipe, CIELAB, D65, 2°."""

    zone: str
    layers_mm: list[tuple[str, float]] = Field(description="from the core outward; a free edge back to front")
    room_mm: float
    free: bool = Field(description="no core behind it")
    lab: Lab
    target: Lab
    delta_e00: float
    robust_delta_e00: float = Field(description="expected when every inner boundary scatters by 0.05 mm")
    doubt_delta_e00: float
    band_delta_e00: tuple[float, float] = Field(
        description="delta_e00 less and more one difference_doubt_delta_e00"
    )
    verdict: str = Field(description='"reached" to 0.8, "near" to 1.8, else "not reached"')
    reached: bool
    stump_delta_e00: float | None
    words: str
    limits: list[LimitOut]
    choices: list[str]
    target_doubt_delta_e00: float = Field(
        default=0.0, description="of the target's own reading, 0: not known"
    )
    difference_doubt_delta_e00: float | None = Field(
        default=None, description="doubt of prediction and target together, which the band is made of"
    )
    optics_doubt: dict[str, str] = Field(
        default_factory=dict, description="powder or core -> what the doubt of its optics rests on"
    )


class PortionOut(_Part):
    """One powder to weigh for the recipe, slab waste included, before allowances for grinding."""

    powder: str
    role: str
    powder_g: float
    cost: float | None
    currency: str


class AlternativeZoneOut(_Part):
    """One zone of another set of powders."""

    zone: str
    layers_mm: list[tuple[str, float]]
    delta_e00: float


class AlternativeOut(_Part):
    """Another set of powders."""

    powders: list[str]
    zones: list[AlternativeZoneOut]
    worst_delta_e00: float
    robust_delta_e00: float
    reached: bool
    portions: list[PortionOut]


class RecipeOut(_Part):
    """Which powders, and how thick in each zone, to land on the targets."""

    used: bool = Field(description="True where the plan lays it")
    powders: list[str] = Field(description="from the core outward")
    zones: list[ZoneRecipeOut]
    robust_delta_e00: float = Field(description="root mean square over the zones")
    reached: bool
    portions: list[PortionOut]
    alternatives: list[AlternativeOut]
    tried: int = Field(description="sets of powders that fit the room")
    geometry: str
    notes: list[str]
