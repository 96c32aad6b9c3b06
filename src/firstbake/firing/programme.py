"""Programme: one bake as data with its source."""

from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Programme:
    """One bake.

    bake   : "wash", "main", "correction", ... and `purpose` in words
    dry_s, dry_degC : drying before the muffle closes
    climb_K_per_min, peak_degC, hold_s : the climb and the top
    vacuum_from_degC, vacuum_to_degC   : None for a bake in air
    cool   : cooling in words; cool_K_per_min down to cool_to_degC in numbers, for the curve, or None
    low_degC, high_degC : usual range of the peak
    status, source : as in powder.Figure
    cautions : sentences to show at this step
    """

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
    status: str
    source: str
    cautions: tuple[str, ...]
    cool_K_per_min: float | None = None
    cool_to_degC: float | None = None

    def with_cautions(self, cautions: tuple[str, ...]) -> "Programme":
        """The same bake showing these cautions."""
        return replace(self, cautions=cautions)
