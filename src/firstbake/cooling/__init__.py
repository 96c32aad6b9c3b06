"""Cooling: heat and stress from the hold to the bench, and whether the porcelain may crack."""

from firstbake.cooling.ball import BallStress, ball_stress
from firstbake.cooling.crown_stress import CoolingStress, Moment, cooling_stress
from firstbake.cooling.heat import Conduction
from firstbake.cooling.linear import LinearBody, stress_MPa
from firstbake.cooling.recovery import at_nodes, corner_means
from firstbake.cooling.remembered import Filling, filled
from firstbake.cooling.setting import relaxation_s, set_degC, structure_after
from firstbake.cooling.solid import Solid, solid_of_core, solid_of_powder
from firstbake.cooling.surroundings import (
    BENCH_W_PER_M2K,
    BLAST_W_PER_M2K,
    FURNACE_W_PER_M2K,
    Leg,
    bench,
    rate_K_per_s,
    slow,
)
from firstbake.cooling.tennode import TenNode
from firstbake.cooling.walled import Walled, with_core

__all__ = [
    "BENCH_W_PER_M2K",
    "BLAST_W_PER_M2K",
    "FURNACE_W_PER_M2K",
    "BallStress",
    "Conduction",
    "CoolingStress",
    "Filling",
    "Leg",
    "LinearBody",
    "Moment",
    "Solid",
    "TenNode",
    "Walled",
    "at_nodes",
    "ball_stress",
    "bench",
    "cooling_stress",
    "corner_means",
    "filled",
    "rate_K_per_s",
    "relaxation_s",
    "set_degC",
    "slow",
    "solid_of_core",
    "solid_of_powder",
    "stress_MPa",
    "structure_after",
    "with_core",
]
