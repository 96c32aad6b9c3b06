"""How stiff the glass of a powder is at each temperature."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from firstbake.mesh import Floats
from firstbake.powder.powder import Powder

ZERO_K = 273.15
TRANSITION_LOG10 = 12.0  # log10 of the viscosity, Pa s, at which a glass is said to pass its transition
GAS_J_PER_MOL_K = 8.314462618


@dataclass(frozen=True)
class Viscosity:
    """Viscosity of a glass melt after Vogel, Fulcher and Tammann: log10(Pa s) = a + b_K / (T - c_K), T in K.

    status, source : as in Figure
    """

    a: float
    b_K: float
    c_K: float
    status: str
    source: str

    def log10_at(self, degC: ArrayLike) -> Floats:
        """log10 of the viscosity in Pa s at temperatures in degC, any shape; +inf at or below c_K."""
        over = np.asarray(degC, dtype=np.float64) + ZERO_K - self.c_K
        with np.errstate(divide="ignore"):
            return np.where(over > 0, self.a + self.b_K / np.maximum(over, 1e-300), np.inf)

    def at(self, degC: ArrayLike) -> Floats:
        """Viscosity, Pa s, at temperatures in degC, any shape; at most 10^300, beyond which nothing flows."""
        return np.asarray(10.0 ** np.minimum(self.log10_at(degC), 300.0))

    def degC_at(self, log10_Pa_s: float) -> float:
        """Temperature, degC, at which the viscosity is 10**log10_Pa_s."""
        return self.c_K + self.b_K / (log10_Pa_s - self.a) - ZERO_K

    def energy_J_per_mol(self, degC: ArrayLike) -> Floats:
        """Apparent activation energy R ln(10) b (T / (T - c))², J/mol, at temperatures in degC."""
        kelvin = np.asarray(degC, dtype=np.float64) + ZERO_K
        return np.asarray(GAS_J_PER_MOL_K * np.log(10.0) * self.b_K * (kelvin / (kelvin - self.c_K)) ** 2)

    def shifted_to(self, transition_degC: float, *, source: str, status: str) -> "Viscosity":
        """The same curve moved along the temperature so that 10^12 Pa s lies at transition_degC."""
        shift_K = transition_degC - self.degC_at(TRANSITION_LOG10)
        return replace(self, c_K=self.c_K + shift_K, source=source, status=status)


USUAL_VISCOSITY = Viscosity(
    -4.55,
    10491.3,
    226.35,
    "fitted",
    "silicate melt model of Giordano, Russell and Dingwell 2008, doi 10.1016/j.epsl.2008.03.038, worked out "
    "for a published dental frit (J Japan Soc Dent Mater Devices 25, 2006, boron left out), without crystals",
)


def viscosity_of(powder: Powder) -> Viscosity:
    """The viscosity of a powder's glass.

    The card's own viscosity_a, viscosity_b_K and viscosity_c_K where it has all three; else the usual curve
    moved to the card's glass_transition_degC; else the usual curve.
    """
    own = [powder.thermal.get(f"viscosity_{name}") for name in ("a", "b_K", "c_K")]
    if all(own):
        a, b, c = (figure for figure in own if figure is not None)
        return Viscosity(a.value, b.value, c.value, b.status, b.source)
    transition = powder.thermal.get("glass_transition_degC")
    if transition is None:
        return USUAL_VISCOSITY
    return USUAL_VISCOSITY.shifted_to(
        transition.value,
        status=transition.status,
        source=f"usual curve moved to {transition.value:g} °C of {powder.name}; {USUAL_VISCOSITY.source}",
    )
