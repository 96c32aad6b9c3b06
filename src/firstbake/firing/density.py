"""Density from heat work, free and on a core, and what trapped gas leaves."""

import numpy as np
from scipy.optimize import brentq

from firstbake.errors import BadSum
from firstbake.fem import film_porosity, free_porosity

RIPE, LOW = 0.95, 0.75
"""Relative densities from which porcelain counts as ripe, and as more than chalk; the stages are those of
textbooks, the figures choices of this project."""
CLOSED = 0.08  # porosity at which pores close, fit parameter, from memory, unverified
PORE_UM = 10.0  # their radius then, fit parameter, from memory, unverified
AIR_KPA, VACUUM_KPA = 101.325, 5.0  # vacuum of a porcelain furnace 3 to 7 kPa, common practice


def free_density(green: float, work: float) -> float:
    """Relative density of a free body after heat work: porosity falls as exp(-X)."""
    return 1.0 - free_porosity(1.0 - green, work)


def bonded_density(green: float, work: float) -> float:
    """Relative density of a layer on a core that holds it: the logit of the density rises by X."""
    return 1.0 - film_porosity(1.0 - green, work)


def work_to(green: float, density: float, *, bonded: bool = True) -> float:
    """Heat work from one relative density to another. raises : BadSum when it does not rise to below 1"""
    if not 0 < green <= density < 1:
        raise BadSum("densities must rise and stay between 0 and 1")
    free = float(np.log((1 - green) / (1 - density)))
    return free + float(np.log(density / green)) if bonded else free


def trapped_porosity(
    *, gas_kPa: float, outside_kPa: float, tension_N_per_m: float = 0.30, closed: float = CLOSED
) -> float:
    """Porosity at which gas shut in closed pores stops their shrinking, unit 1.

    gas_kPa     : pressure in the pores when they closed      outside_kPa : round the piece at the end
    With s = closed / porosity: gas s = outside + (2 gamma / r) s^(1/3), the ideal gas at even temperature.
    """
    curve = 2 * tension_N_per_m / (PORE_UM * 1e-6) / 1e3
    s = brentq(lambda x: gas_kPa * x - outside_kPa - curve * np.cbrt(x), 1e-6, 1e9)
    return closed / float(s)


def residual_porosity(vacuum: bool) -> float:
    """What trapped gas leaves: vacuum let go at the top squeezes the pores, air all the time fills them."""
    gas = VACUUM_KPA if vacuum else AIR_KPA
    return trapped_porosity(gas_kPa=gas, outside_kPa=AIR_KPA)


def stage_of(density: float, rounded_um: float, *, limit_um: float) -> str:
    """ "raw", "under-fired", "ripe" or "over-fired" from density and how far edges were driven back."""
    if rounded_um > limit_um and density >= RIPE:
        return "over-fired"
    return "raw" if density < LOW else "under-fired" if density < RIPE else "ripe"
