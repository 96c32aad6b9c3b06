"""Powder and CoreMaterial: what one card says."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.powder.bake import MakerBake
from firstbake.powder.figure import Figure

Floats = NDArray[np.float64]

CORE_KINDS = ("zirconia", "metal", "alumina", "glass-ceramic")
ROLES = ("liner", "opaque", "opaque-dentine", "dentine", "enamel", "transparent", "margin")


@dataclass(frozen=True, eq=False)
class Optics:
    """Absorption and scattering inside the fired ceramic, interface-corrected (colour.layers says how).

    wavelength_nm : (w,) nm          absorption_per_mm, scattering_per_mm : (w,) 1/mm
    index         : refractive index, unit 1
    status, source : as in Figure
    absorption_sd_per_mm, scattering_sd_per_mm : (w,) one standard deviation as measured, 1/mm, or None
    correlation : (w,) of both errors at one wavelength, -1 to 1, or None where nobody tells
    """

    wavelength_nm: Floats
    absorption_per_mm: Floats
    scattering_per_mm: Floats
    index: float
    status: str
    source: str
    absorption_sd_per_mm: Floats | None = None
    scattering_sd_per_mm: Floats | None = None
    correlation: Floats | None = None


@dataclass(frozen=True)
class Powder:
    """One bottle of layering powder. Every physical value is a Figure with its source.

    green_relative_density, fired_relative_density : unit 1, solid volume over total volume
    solid_density_g_per_cm3 : g/cm³ of the pore-free solid
    layer_mm     : usual fired thickness of this powder where it is a thin layer, mm, or None
    least_mm     : thinnest fired layer that still works, mm
    grind_off_mm : usual allowance for grinding, mm, or None
    contact_mm   : usual extra at each contact, mm, or None
    slab_waste   : usual share left on the slab, unit 1, or None
    liquid_ml_per_g : modelling liquid for a firm paste, ml/g
    price_per_g  : in `currency`, or None
    thermal      : expansion_ppm_per_K, glass_transition_degC, first_bake_degC, ... by name
    """

    name: str
    role: str
    demo: bool
    green_relative_density: Figure
    fired_relative_density: Figure
    solid_density_g_per_cm3: Figure
    optics: Optics
    thermal: dict[str, Figure]
    least_mm: Figure
    liquid_ml_per_g: Figure
    layer_mm: Figure | None = None
    grind_off_mm: Figure | None = None
    contact_mm: Figure | None = None
    slab_waste: Figure | None = None
    price_per_g: Figure | None = None
    currency: str = ""

    @property
    def volume_factor(self) -> float:
        """Green volume over fired volume of the same solid mass, unit 1 (mass conserved)."""
        return self.fired_relative_density.value / self.green_relative_density.value

    @property
    def fired_before_the_build(self) -> bool:
        """Liner and opaque are fired in bakes of their own before dentine is laid (common practice)."""
        return self.role in ("liner", "opaque")

    @property
    def build_factor(self) -> float:
        """Volume in the build over fired volume, unit 1: 1 for what was fired before."""
        return 1.0 if self.fired_before_the_build else self.volume_factor

    @property
    def fired_density_g_per_cm3(self) -> float:
        """Mass over fired volume, g/cm³."""
        return self.fired_relative_density.value * self.solid_density_g_per_cm3.value


@dataclass(frozen=True)
class CoreMaterial:
    """The card of a core material.

    kind      : "zirconia", "metal", "alumina" or "glass-ceramic"
    optics    : body optics of a translucent core, or None for a metal
    reflectance : measured reflectance of a bare opaque core on `reflectance_nm`, or None;
                  reflectance_status and reflectance_source as in Figure
    least_wall_mm : thinnest wall the material allows
    firing    : the maker's own bakes as the card states them, empty for the default sequence
    holds     : substances that need a caution ("nickel", "cobalt", ...)
    beryllium : "none", "not stated" or "not asked" (a ceramic)
    """

    name: str
    kind: str
    demo: bool
    least_wall_mm: Figure
    usual_wall_mm: Figure
    most_unsupported_mm: Figure
    thermal: dict[str, Figure]
    optics: Optics | None
    reflectance_nm: Floats | None
    reflectance: Floats | None
    grind_off_mm: Figure | None = None
    contact_mm: Figure | None = None
    slab_waste: Figure | None = None
    firing: tuple[MakerBake, ...] = ()
    holds: tuple[str, ...] = ()
    beryllium: str = "not asked"
    reflectance_status: str = ""
    reflectance_source: str = ""
