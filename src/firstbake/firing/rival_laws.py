"""Other laws of sintering: how far apart the literature lies on the time it takes.

All times are scaled as K t with the K that each law names; solid and pores in unit 1.
"""

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq


def frenkel_shrinkage(
    time_s: float, *, tension_N_per_m: float, viscosity_Pa_s: float, grain_um: float
) -> float:
    """Linear shrinkage of the first stage, 3 gamma t / (8 eta r) (Frenkel 1945, J. Phys. USSR 9, 385)."""
    return 3 * tension_N_per_m * time_s / (8 * viscosity_Pa_s * grain_um * 1e-6)


def frenkel_density_ratio(shrinkage: float) -> float:
    """Density over that at the start."""
    return 1.0 / (1.0 - shrinkage) ** 3


def cell_density(x: float) -> float:
    """Relative density of a cell of cylinders with radius over length x, up to 1/2 (Scherer 1977)."""
    return float(3 * np.pi * x**2 - 8 * np.sqrt(2) * x**3)


def cell_time(density: float) -> float:
    """K (t - t0) at which the cell reaches a relative density, K = gamma / (eta l0 density0^(1/3)).

    source : Scherer 1977, J. Am. Ceram. Soc. 60, 236 (integral over u = x^(1/3), where it has no pole)
    """
    x = brentq(lambda value: cell_density(value) - density, 1e-9, 0.5)
    bent = 8 * np.sqrt(2)
    found, _ = quad(lambda u: 6.0 / np.cbrt(3 * np.pi - bent * u**3), 0.0, np.cbrt(x))
    return float(found)


def closed_pore_time(start: float, end: float) -> float:
    """(gamma n^(1/3) / eta) dt between two relative densities with closed pores, n of them a volume of solid.

    source : Mackenzie and Shuttleworth 1949, Proc. Phys. Soc. B 62, 833, in closed form
    """
    return float(2 / 3 * np.cbrt(3 / (4 * np.pi)) * 3 * (_closing(start) - _closing(end)))


def _closing(density: float) -> float:
    z = np.cbrt((1 - density) / density)
    log = np.log((1 + z) ** 2 / (1 - z + z**2)) / 6
    return float(log + np.arctan((2 * z - 1) / np.sqrt(3)) / np.sqrt(3))
