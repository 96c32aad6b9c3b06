"""From melt to solid: what the porcelain remembers of the way it cooled.

In the melt, shear stress relaxes with the viscosity; the change of volume does not, but the structure of the
melt follows the temperature until it sets (the structural temperature stops). Before that a degree changes
the volume as in a melt, after it as in a solid:

    ds/dt = 2 G de/dt - s G / eta        p = K (tr e - 3 e_th)
    e_th = a (T - T0) + (a_melt - a) (Ts - Ts0)        dTs/dt = (T - Ts) G / eta(T, Ts)
    ln eta(T, Ts) = ln eta_eq(Ts) + x H(Ts) / R (1 / T - 1 / Ts)

source : one Maxwell element and one structural temperature after Tool 1946 and Narayanaswamy 1971, J. Am.
         Ceram. Soc. 54, 491 (from memory, unverified); one rate for both, while real glasses have a spread
"""

import numpy as np

from firstbake.mesh import Floats
from firstbake.powder import GAS_J_PER_MOL_K, ZERO_K, Viscosity

SHARE_OF_HEAT = 0.5  # x: 0.4 to 0.6 for most oxide glasses, from memory, unverified
SETTING_SHEAR_MPa = 28e3  # shear modulus of a feldspathic glass: 68 GPa and 0.22, from memory, unverified
_SOLID_LOG10, _MELT_LOG10 = 18.0, 4.0  # beyond these nothing changes in the hours and microseconds of a bake


def relaxation_s(viscosity: Viscosity, degC: Floats, structural_degC: Floats, *, shear_MPa: float) -> Floats:
    """Time in which shear stress and structure relax, s, at temperatures and structural ones in degC."""
    eta = viscosity.log10_at(np.maximum(structural_degC, viscosity.c_K - ZERO_K + 1.0))
    heat = SHARE_OF_HEAT * viscosity.energy_J_per_mol(structural_degC) / (GAS_J_PER_MOL_K * np.log(10.0))
    eta = eta + heat * (1 / (np.asarray(degC) + ZERO_K) - 1 / (np.asarray(structural_degC) + ZERO_K))
    return np.asarray(10.0 ** np.clip(eta, _MELT_LOG10, _SOLID_LOG10) / (shear_MPa * 1e6))


def kept_share(step_s: float, relaxation_s: Floats) -> tuple[Floats, Floats]:
    """What is left of a stress after a step, and the share of the shear modulus that a steady rate meets.

    exp(-h/t) and (1 - exp(-h/t)) t/h: exact for a steady rate and a constant relaxation time.
    """
    ratio = step_s / relaxation_s
    return np.exp(-ratio), np.where(ratio > 1e-8, -np.expm1(-ratio) / np.maximum(ratio, 1e-300), 1.0)


def structure_after(
    structural_degC: Floats, degC: tuple[Floats, Floats], step_s: float, relaxation_s: Floats
) -> Floats:
    """Structural temperature after a step in which the temperature runs evenly from degC[0] to degC[1]."""
    left, mean = kept_share(step_s, relaxation_s)
    before, after = degC
    return np.asarray(after + (structural_degC - before) * left - (after - before) * mean)


def set_degC(viscosity: Viscosity, rate_K_per_s: float, *, shear_MPa: float = SETTING_SHEAR_MPa) -> float:
    """Temperature at which a porcelain that cools at this rate sets, degC.

    Where the relaxation time changes by its own length a second: (eta / G) q d(ln eta)/dT = 1.
    """
    low, high = viscosity.c_K - ZERO_K + 30.0, viscosity.c_K - ZERO_K + 900.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        slope = np.log(10.0) * viscosity.b_K / (middle + ZERO_K - viscosity.c_K) ** 2
        sets = float(viscosity.at(middle)) / (shear_MPa * 1e6) * rate_K_per_s * slope > 1.0
        low, high = (middle, high) if sets else (low, middle)
    return 0.5 * (low + high)
