"""The sintering law: linear viscous porcelain that shrinks as its pores close.

    stress = 2 eta0 phi dev(D) + 2 eta0 psi tr(D) I + P I      phi = (1 - th)^2, psi = (2/3)(1 - th)^3 / th
    P = (3 gamma / r0)(1 - th)^2                                dth/dt = (1 - th) tr(D)

source : Skorohod 1972; Olevsky 1998, Mater. Sci. Eng. R 23, 41-100. The room sums in scaled units: stress in
3 gamma / r0, time as tau = integral of 9 gamma / (4 r0 eta0) dt, so that no constant but the porosity is
left.
"""

from dataclasses import dataclass

import numpy as np

from firstbake.mesh import Floats

LEAST_POROSITY, MOST_POROSITY = 1e-4, 0.9
GRAVITY_M_PER_S2 = 9.80665


def shear_viscosity(porosity: Floats) -> Floats:
    """Scaled shear viscosity G of each porosity (0 to 1)."""
    return np.asarray(0.75 * (1 - porosity) ** 2)


def bulk_viscosity(porosity: Floats) -> Floats:
    """Scaled bulk viscosity of each porosity (greater than 0, less than 1)."""
    return np.asarray((1 - porosity) ** 3 / porosity)


def sintering_pull(porosity: Floats, *, closed_at: float = 0.0) -> Floats:
    """Scaled sintering stress of each porosity.

    closed_at : porosity of dense porcelain that shrinks no further. The pull is 0 there and grows to its
                full value at one and a half times that porosity (ramp chosen here, so that no step jumps).
    """
    pull = np.asarray((1 - porosity) ** 2)
    if closed_at <= 0:
        return pull
    return np.asarray(pull * np.clip((porosity - closed_at) / (0.5 * closed_at), 0.0, 1.0))


def free_porosity(porosity: float, tau: float) -> float:
    """Porosity of a free body after tau: th0 exp(-tau) (the law with no constraint, exact)."""
    return float(porosity * np.exp(-tau))


def film_porosity(porosity: float, tau: float) -> float:
    """Porosity of a film bonded to a rigid core after tau: logit(th) = logit(th0) - tau (exact)."""
    logit = np.log(porosity / (1 - porosity)) - tau
    return float(1 / (1 + np.exp(-logit)))


def free_length_ratio(green_density: float, end_density: float) -> float:
    """Fired over green length of a body that shrinks freely (mass conservation)."""
    return float((green_density / end_density) ** (1 / 3))


def film_thickness_ratio(green_density: float, end_density: float) -> float:
    """Fired over green thickness of a thin bonded film (mass conservation)."""
    return float(green_density / end_density)


@dataclass(frozen=True)
class Glass:
    """What sets times, slump and rounding; the fired shape without loads does not depend on it.

    surface_tension_N_per_m  : 0.30, Scholze 1991 for a soda-lime melt, quoted second hand
    grain_radius_um          : 5, common order of a dental powder, from memory, unverified
    solid_density_kg_per_m3  : 2450, common order of a feldspathic glass, from memory, unverified
    """

    surface_tension_N_per_m: float = 0.30
    grain_radius_um: float = 5.0
    solid_density_kg_per_m3: float = 2450.0

    @property
    def stress_Pa(self) -> float:
        """Unit of stress, 3 gamma / r0, Pa."""
        return 3 * self.surface_tension_N_per_m / (self.grain_radius_um * 1e-6)

    @property
    def tension_mm(self) -> float:
        """Surface tension over the unit of stress, mm (a third of the grain radius)."""
        return self.grain_radius_um * 1e-3 / 3

    @property
    def weight_per_mm(self) -> float:
        """Weight of solid glass per volume over the unit of stress, 1/mm."""
        return self.solid_density_kg_per_m3 * GRAVITY_M_PER_S2 / self.stress_Pa * 1e-3

    def tau_of(self, seconds_s: float, viscosity_Pa_s: float) -> float:
        """Scaled time of a hold of seconds_s at a glass viscosity of viscosity_Pa_s."""
        rate = 9 * self.surface_tension_N_per_m / (4 * self.grain_radius_um * 1e-6 * viscosity_Pa_s)
        return rate * seconds_s
