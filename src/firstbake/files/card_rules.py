"""What a card may say: every figure with its unit and the range that is physically possible."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """Unit of a figure and where its value must lie; outside it the card holds a slip, not a material.

    above : True when `least` itself is not allowed      below : the same for `most`
    """

    unit: str
    least: float
    most: float
    above: bool = False
    below: bool = False

    def allows(self, value: float) -> bool:
        """True when a value in the rule's unit is possible."""
        low = value > self.least if self.above else value >= self.least
        high = value < self.most if self.below else value <= self.most
        return low and high

    def words(self) -> str:
        """The range in words, "more than 0 and at most 1"."""
        low = f"more than {self.least:g}" if self.above else f"at least {self.least:g}"
        high = f"less than {self.most:g}" if self.below else f"at most {self.most:g}"
        return f"{low} and {high}"


_SHARE = Rule("1", 0.0, 1.0, above=True)
_LAYER = Rule("mm", 0.0, 5.0, above=True)
_ALLOWANCE = Rule("mm", 0.0, 1.0)
_WASTE = Rule("1", 0.0, 0.95, below=True)
_DENSITY = Rule("g/cm3", 1.0, 25.0)
_HEAT = Rule("degC", 200.0, 1600.0)

# Ranges are wide on purpose: they catch a slip of unit or sign, not an unusual material.
ALLOWANCE_RULES = {"grind_off_mm": _ALLOWANCE, "contact_mm": _ALLOWANCE, "slab_waste": _WASTE}

POWDER_RULES = {
    "green_relative_density": _SHARE,
    "fired_relative_density": _SHARE,
    "solid_density_g_per_cm3": _DENSITY,
    "layer_mm": _LAYER,
    "least_mm": _LAYER,
    "liquid_ml_per_g": Rule("ml/g", 0.0, 3.0, above=True),
    **ALLOWANCE_RULES,
}
POWDER_NEEDED = ("green_relative_density", "fired_relative_density", "solid_density_g_per_cm3")

CORE_RULES = {
    "least_wall_mm": _LAYER,
    "usual_wall_mm": _LAYER,
    "most_unsupported_mm": _LAYER,
    **ALLOWANCE_RULES,
}
CORE_NEEDED = ("least_wall_mm", "usual_wall_mm", "most_unsupported_mm")

THERMAL_RULES = {
    "expansion_ppm_per_K": Rule("1e-6/K", 0.0, 30.0, above=True),
    "glass_transition_degC": _HEAT,
    "first_bake_degC": _HEAT,
    "most_bake_degC": _HEAT,
    "stiffness_GPa": Rule("GPa", 1.0, 1000.0),
    "poisson_ratio": Rule("1", 0.0, 0.5, below=True),
    "conductivity_W_per_mK": Rule("W/(m K)", 0.0, 500.0, above=True),
    "density_g_per_cm3": _DENSITY,
    "heat_cold_J_per_kgK": Rule("J/(kg K)", 50.0, 3000.0),
    "heat_600_J_per_kgK": Rule("J/(kg K)", 50.0, 3000.0),
    "liquid_expansion_ratio": Rule("1", 1.0, 10.0),
    "toughness_MPa_sqrt_m": Rule("MPa m^0.5", 0.1, 20.0),
    "strength_MPa": Rule("MPa", 5.0, 2000.0),
    "weibull_modulus": Rule("1", 1.0, 50.0),
    "surface_tension_N_per_m": Rule("N/m", 0.05, 1.0),
    "grain_radius_um": Rule("um", 0.1, 100.0),
    "viscosity_a": Rule("1", -20.0, 10.0),
    "viscosity_b_K": Rule("K", 100.0, 50000.0),
    "viscosity_c_K": Rule("K", 0.0, 1200.0),
}
POWDER_THERMAL_NEEDED = ("expansion_ppm_per_K", "glass_transition_degC", "first_bake_degC")
CORE_THERMAL_NEEDED = ("expansion_ppm_per_K",)

FIGURE_KEYS = ("value", "unit", "status", "source", "low", "high")
PARAMETRIC_KEYS = ("s550_per_mm", "p", "k0_per_mm", "kb_per_mm", "kg_per_mm")
SPECTRAL_KEYS = ("wavelength_nm", "absorption_per_mm", "scattering_per_mm")
DOUBT_KEYS = ("absorption_sd_per_mm", "scattering_sd_per_mm")
CORRELATION_KEY = "correlation"
OPTICS_KEYS = (*PARAMETRIC_KEYS, *SPECTRAL_KEYS, *DOUBT_KEYS, CORRELATION_KEY, "index", "status", "source")
REFLECTANCE_KEYS = ("wavelength_nm", "reflectance", "status", "source")
FIRST_NM, LAST_NM = 400.0, 700.0
MOST_STEP_NM = 20.0  # wider steps lose the shape of a spectrum; the limit of the colour room

FIRING_NUMBERS = {
    "dry_s": Rule("s", 0.0, 7200.0),
    "dry_degC": Rule("degC", 20.0, 800.0),
    "climb_K_per_min": Rule("K/min", 0.0, 300.0, above=True),
    "peak_degC": _HEAT,
    "hold_s": Rule("s", 0.0, 7200.0),
}
FIRING_OPTIONAL = {
    "low_degC": _HEAT,
    "high_degC": _HEAT,
    "vacuum_from_degC": Rule("degC", 20.0, 1600.0),
    "vacuum_to_degC": Rule("degC", 20.0, 1600.0),
    "cool_K_per_min": Rule("K/min", 0.0, 3000.0, above=True),
    "cool_to_degC": Rule("degC", 20.0, 1600.0),
}
FIRING_WORDS = ("bake", "purpose", "cool", "status", "source")
FIRING_KEYS = (*FIRING_WORDS, *FIRING_NUMBERS, *FIRING_OPTIONAL)

POWDER_KEYS = ("name", "role", "demo", "currency", "price_per_g", *POWDER_RULES, "optics", "thermal")
CORE_KEYS = (
    "name",
    "kind",
    "demo",
    *CORE_RULES,
    "optics",
    "reflectance",
    "thermal",
    "firing",
    "holds",
    "beryllium",
)
