"""Cooling and cracking as they stand in plan.json."""

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field

from firstbake.cooling import CrownCooling, Risk
from firstbake.mesh import Floats


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class PullOut(_Part):
    """Pull over the porcelain, by vertex without the last 0.3 mm at the margin, MPa; below 0 is pressed."""

    median: float
    p95: float
    p99: float


class HelpOut(_Part):
    """A change, and what a round shell of the place's thickness says of it, MPa."""

    words: str
    before_MPa: float
    after_MPa: float


class RiskOut(_Part):
    """One place where porcelain may crack."""

    kind: str = Field(description='"surface", "inside" or "lifting"')
    what: str
    where: str
    at_mm: tuple[float, float, float]
    thickness_mm: float
    pull_MPa: float = Field(description="mean over half a millimetre, cold")
    doubt_MPa: float = Field(description="one standard deviation, from the expansions on the cards")
    bears_MPa: float = Field(description="even pull at which a crack as deep as the layer runs on")
    band: str = Field(description='"low", "watch" or "high"')
    doubt_band: tuple[str, str]
    drivers: list[str]
    helps: list[HelpOut]


class CoolingOut(_Part):
    """What cooling after the main bake does to the crown."""

    set_degC: tuple[float, float] = Field(description="coolest and hottest temperature at which it set")
    gap_in_porcelain_K: float = Field(description="greatest difference within the porcelain on the way")
    gap_to_core_K: float
    surface_MPa: PullOut
    inside_MPa: PullOut
    bond_MPa: PullOut
    lifting_MPa: PullOut
    on_the_way_MPa: PullOut = Field(description="greatest pull at any time")
    core_MPa: float = Field(description="greatest pull in the core")
    chance: float = Field(description="that a flaw gives way by this stress alone (Weibull), 0 to 1")
    risks: list[RiskOut]
    nodes: int
    curve: list[tuple[float, float, float]] = Field(
        description="s after the hold, mean of porcelain and core, degC"
    )
    assumed: list[str] = Field(description="values no card gave")
    notes: list[str]


def cooling_out(cooling: CrownCooling, counted: NDArray[np.bool_]) -> CoolingOut:
    """plan.json's "cooling". counted : (n,) bool, vertices of the contour that count"""

    def pull(values: Floats) -> PullOut:
        kept = values[counted & np.isfinite(values)]
        median, p95, p99 = (float(v) for v in np.percentile(kept, [50, 95, 99]))
        return PullOut(median=median, p95=p95, p99=p99)

    cold = cooling.cold
    return CoolingOut(
        set_degC=cold.set_degC,
        gap_in_porcelain_K=cold.greatest_gap_K[0],
        gap_to_core_K=cold.greatest_gap_K[1],
        surface_MPa=pull(cooling.surface_MPa),
        inside_MPa=pull(cooling.inside_MPa),
        bond_MPa=pull(cooling.bond_MPa),
        lifting_MPa=pull(cooling.lifting_MPa),
        on_the_way_MPa=pull(cooling.on_the_way_MPa),
        core_MPa=cold.core_tension_MPa,
        chance=cooling.chance,
        risks=[risk_out(risk) for risk in cooling.risks],
        nodes=cooling.nodes,
        curve=[(m.time_s, m.mean_degC, m.core_degC) for m in cold.moments],
        assumed=list(cooling.assumed),
        notes=list(cooling.notes),
    )


def risk_out(risk: Risk) -> RiskOut:
    """One risk as it stands in plan.json."""
    return RiskOut(
        kind=risk.kind,
        what=risk.what,
        where=risk.where,
        at_mm=risk.at_mm,
        thickness_mm=risk.thickness_mm,
        pull_MPa=risk.pull_MPa,
        doubt_MPa=risk.doubt_MPa,
        bears_MPa=risk.bears_MPa,
        band=risk.band,
        doubt_band=risk.doubt_band,
        drivers=list(risk.drivers),
        helps=[HelpOut(words=h.words, before_MPa=h.before_MPa, after_MPa=h.after_MPa) for h in risk.helps],
    )
