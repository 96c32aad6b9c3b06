"""What heat does to form: ripples level, edges go round, walls slump.

flow : integral of dt / viscosity, 1/Pa
"""

import numpy as np

DENSITY_KG_PER_M3 = 2400.0  # of fired porcelain, 2300 to 2420, from memory, unverified
GRAVITY_M_PER_S2 = 9.80665
EDGE_LIMIT_UM = 30.0  # an edge driven back by more looks soft; a choice of this project


def ripple_left(
    wavelength_um: float, thickness_mm: float, flow_per_Pa: float, *, tension: float = 0.30
) -> float:
    """Share of a surface ripple that is left on a layer, unit 1.

    tension : surface tension, N/m
    source  : levelling of a viscous layer, Orchard 1962, Appl. Sci. Res. A 11, 451 (from memory, unverified)
    """
    k, h = 2 * np.pi / (wavelength_um * 1e-6), thickness_mm * 1e-3
    kh = k * h
    drive = tension * k + DENSITY_KG_PER_M3 * GRAVITY_M_PER_S2 / k
    if kh > 20:
        return float(np.exp(-drive / 2 * flow_per_Pa))
    shape = (np.sinh(kh) * np.cosh(kh) - kh) / (np.cosh(kh) ** 2 + kh**2)
    return float(np.exp(-drive / 2 * shape * flow_per_Pa))


def capillary_um(flow_per_Pa: float, *, tension: float = 0.30) -> float:
    """Way that surface tension drives an edge, um: gamma times the flow."""
    return tension * flow_per_Pa * 1e6


def sagged_um(thickness_mm: float, flow_per_Pa: float) -> float:
    """How far an upright layer's face runs down under its weight, um: density g h² / 2 times the flow."""
    weight = DENSITY_KG_PER_M3 * GRAVITY_M_PER_S2
    return float(weight * (thickness_mm * 1e-3) ** 2 / 2 * flow_per_Pa * 1e6)
