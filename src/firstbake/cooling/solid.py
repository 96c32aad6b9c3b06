"""What heat and stress need to know of a material."""

from dataclasses import dataclass, replace

import numpy as np

from firstbake.mesh import Floats
from firstbake.powder import CoreMaterial, Figure, Powder, Viscosity, viscosity_of

MEMORY = "from memory, unverified"

# Usual values where a card is silent, all from memory, unverified: GPa, unit 1, W/(m K), g/cm³, and heat
# capacity in J/(kg K) at 25 and at 600 degC.
_USUAL: dict[str, tuple[float, float, float, float, float, float]] = {
    "veneer": (68.0, 0.22, 1.2, 2.35, 780.0, 1050.0),
    "zirconia": (210.0, 0.30, 2.5, 6.05, 460.0, 600.0),
    "alumina": (380.0, 0.23, 20.0, 3.97, 780.0, 1150.0),
    "metal": (210.0, 0.30, 14.0, 8.4, 440.0, 550.0),
    "glass-ceramic": (95.0, 0.23, 4.0, 2.5, 780.0, 1050.0),
}
_NAMES = (
    "stiffness_GPa",
    "poisson_ratio",
    "conductivity_W_per_mK",
    "density_g_per_cm3",
    "heat_cold_J_per_kgK",
    "heat_600_J_per_kgK",
)
# Expansion above the glass transition over that below it: 2 to 4 for such glasses, from memory, unverified.
LIQUID_RATIO = 3.0
USUAL_EXPANSION = {"veneer": 9.5, "zirconia": 10.5, "alumina": 7.3, "metal": 14.2, "glass-ceramic": 10.0}


@dataclass(frozen=True)
class Solid:
    """One material as heat and stress see it.

    stiffness_GPa, poisson_ratio : elastic
    conductivity_W_per_mK, density_g_per_cm3 : heat
    heat_cold_J_per_kgK, heat_600_J_per_kgK  : heat capacity at 25 and at 600 degC, linear between and beyond
    expansion_ppm_per_K  : of the solid; liquid_ratio : that of the melt over it
    viscosity            : None for what does not flow (a core)
    assumed              : names of values that no card gave
    """

    name: str
    stiffness_GPa: float
    poisson_ratio: float
    conductivity_W_per_mK: float
    density_g_per_cm3: float
    heat_cold_J_per_kgK: float
    heat_600_J_per_kgK: float
    expansion_ppm_per_K: float
    liquid_ratio: float = 1.0
    viscosity: Viscosity | None = None
    assumed: tuple[str, ...] = ()

    @property
    def shear_MPa(self) -> float:
        """Shear modulus, MPa."""
        return 1e3 * self.stiffness_GPa / (2 * (1 + self.poisson_ratio))

    @property
    def bulk_MPa(self) -> float:
        """Bulk modulus, MPa."""
        return 1e3 * self.stiffness_GPa / (3 * (1 - 2 * self.poisson_ratio))

    def heat_J_per_mm3K(self, degC: Floats) -> Floats:
        """Heat capacity by volume at temperatures in degC, any shape."""
        slope = (self.heat_600_J_per_kgK - self.heat_cold_J_per_kgK) / 575.0
        by_mass = self.heat_cold_J_per_kgK + slope * (np.asarray(degC) - 25.0)
        return np.asarray(self.density_g_per_cm3 * 1e-6 * by_mass)


def solid_of_powder(powder: Powder) -> Solid:
    """A fired powder from its card; what the card does not give is usual and named in `assumed`."""
    known, assumed = _from_card(powder.name, powder.thermal, "veneer")
    ratio = powder.thermal.get("liquid_expansion_ratio")
    return replace(
        known,
        liquid_ratio=LIQUID_RATIO if ratio is None else ratio.value,
        viscosity=viscosity_of(powder),
        assumed=assumed if ratio is not None else (*assumed, "liquid_expansion_ratio"),
    )


def solid_of_core(core: CoreMaterial) -> Solid:
    """A core material from its card; what the card does not give is usual and named in `assumed`."""
    known, assumed = _from_card(core.name, core.thermal, core.kind)
    return replace(known, assumed=assumed)


def _from_card(name: str, thermal: dict[str, Figure], kind: str) -> tuple[Solid, tuple[str, ...]]:
    usual = dict(zip(_NAMES, _USUAL[kind], strict=True)) | {"expansion_ppm_per_K": USUAL_EXPANSION[kind]}
    values = [thermal[key].value if key in thermal else usual[key] for key in usual]
    stiff, poisson, conducts, dense, cold, hot, swells = values
    solid = Solid(name, stiff, poisson, conducts, dense, cold, hot, swells)
    return solid, tuple(key for key in usual if key not in thermal)
