"""Cooling: heat and stress from the hold to the bench, and whether the porcelain may crack."""

from firstbake.cooling.ball import BallStress, ball_stress
from firstbake.cooling.by_layer import filled_by_layers
from firstbake.cooling.closed_forms import (
    BentPlate,
    RoundPair,
    bent_plate,
    rigid_core_MPa,
    round_pair,
    strip_bend_per_mm,
    tempered_MPa,
    thin_film_MPa,
)
from firstbake.cooling.columns import RIM_MM
from firstbake.cooling.crown_stress import CoolingStress, Moment, cooling_stress
from firstbake.cooling.fracture import (
    CRACK_SHAPES,
    bearable_MPa,
    failure_probability,
    stress_from_dent_MPa,
    three_over_four_point,
)
from firstbake.cooling.heat import Conduction
from firstbake.cooling.linear import LinearBody, stress_MPa
from firstbake.cooling.recovery import at_nodes, corner_means
from firstbake.cooling.remembered import Filling, filled
from firstbake.cooling.risk import Risk, band_of, band_words, by_place, worst_places
from firstbake.cooling.setting import relaxation_s, set_degC, structure_after
from firstbake.cooling.solid import Solid, solid_of_core, solid_of_powder
from firstbake.cooling.surroundings import (
    BENCH_W_PER_M2K,
    BLAST_W_PER_M2K,
    FURNACE_W_PER_M2K,
    Descent,
    Leg,
    bench,
    descent_of,
    rate_K_per_s,
    slow,
)
from firstbake.cooling.tennode import TenNode
from firstbake.cooling.walled import Walled, with_core
from firstbake.cooling.what_if import Help, Place, helps, swell_of
from firstbake.cooling.whole_crown import Crown, CrownCooling, cool_crown

__all__ = [
    "BENCH_W_PER_M2K",
    "BLAST_W_PER_M2K",
    "CRACK_SHAPES",
    "FURNACE_W_PER_M2K",
    "RIM_MM",
    "BallStress",
    "BentPlate",
    "Conduction",
    "CoolingStress",
    "Crown",
    "CrownCooling",
    "Descent",
    "Filling",
    "Help",
    "Leg",
    "LinearBody",
    "Moment",
    "Place",
    "Risk",
    "RoundPair",
    "Solid",
    "TenNode",
    "Walled",
    "at_nodes",
    "ball_stress",
    "band_of",
    "band_words",
    "bearable_MPa",
    "bench",
    "bent_plate",
    "by_place",
    "cool_crown",
    "cooling_stress",
    "corner_means",
    "descent_of",
    "failure_probability",
    "filled",
    "filled_by_layers",
    "helps",
    "rate_K_per_s",
    "relaxation_s",
    "rigid_core_MPa",
    "round_pair",
    "set_degC",
    "slow",
    "solid_of_core",
    "solid_of_powder",
    "stress_MPa",
    "stress_from_dent_MPa",
    "strip_bend_per_mm",
    "structure_after",
    "swell_of",
    "tempered_MPa",
    "thin_film_MPa",
    "three_over_four_point",
    "with_core",
    "worst_places",
]
