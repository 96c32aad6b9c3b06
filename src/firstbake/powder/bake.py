"""MakerBake: one bake as the maker of a core material states it on a card."""

from dataclasses import dataclass


@dataclass(frozen=True)
class MakerBake:
    """One bake from a core card's own instructions; firing adds the usual cautions.

    bake, purpose    : "main" and what it is for, in words
    dry_s, dry_degC  : drying before the muffle closes
    climb_K_per_min, peak_degC, hold_s : the climb and the top
    low_degC, high_degC : range of the peak the maker allows
    vacuum_from_degC, vacuum_to_degC   : None for a bake in air
    cool             : cooling in words; cool_K_per_min and cool_to_degC in numbers where the card states them
    status, source   : as in Figure
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
    cool_K_per_min: float | None = None
    cool_to_degC: float | None = None
