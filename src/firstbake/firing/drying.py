"""How long to dry a build before the muffle closes."""

import math

USUAL_DRY_S = 240.0
USUAL_THICKNESS_MM = 1.5
BRIDGE_S = 180.0  # more for bridges, common practice
_STEP_S = 30.0
# Vapour through pores at about 80 degC: pressure of water 47 kPa (steam tables), diffusivity of water vapour
# in air 3.6e-5 m²/s, halved for winding pores (from memory, unverified).
_VAPOUR_PA, _DIFFUSIVITY_M2_PER_S, _KELVIN = 47e3, 3.6e-5, 353.0
_GAS, _WATER_KG_PER_MOL = 8.314, 0.018
_WATER_KG_PER_M3 = 972.0


def drying_s(thickness_mm: float) -> float:
    """Drying time of porcelain this thick, s: 4 min at 1.5 mm, growing with the square of the thickness.

    Common practice of the trade, no published source. Steam leaves by diffusion through the pores, hence the
    square (vapour_drying_s gives the same order from tables). Not rounded, no floor.
    """
    return USUAL_DRY_S * (thickness_mm / USUAL_THICKNESS_MM) ** 2


def vapour_drying_s(thickness_mm: float, *, porosity: float = 0.4, winding: float = 2.0) -> float:
    """Time for a front of water to dry inward through its own pores, s, from vapour diffusion alone.

    water per volume x L² R T / (2 D p M), D the diffusivity in the pores: porosity over winding times that in
    air. An estimate: it leaves out the heat that has to reach the front and flow by pressure.
    """
    length_m = thickness_mm * 1e-3
    held = porosity * _WATER_KG_PER_M3
    diffusivity = _DIFFUSIVITY_M2_PER_S * porosity / winding
    return held * length_m**2 * _GAS * _KELVIN / (2 * diffusivity * _VAPOUR_PA * _WATER_KG_PER_MOL)


def furnace_drying_s(thickness_mm: float, *, bridge: bool = False) -> float:
    """Drying time to set on the furnace, s: never under 4 min, rounded up to half a minute."""
    wanted = max(USUAL_DRY_S, math.ceil(drying_s(thickness_mm) / _STEP_S - 1e-9) * _STEP_S)
    return wanted + (BRIDGE_S if bridge else 0.0)


def steam_words(thickness_mm: float, dry_s: float) -> str:
    """A warning where a programme dries shorter than this thickness needs, "" where it does not."""
    needed = drying_s(thickness_mm)
    if dry_s >= needed - 1e-9:
        return ""
    return (
        f"{thickness_mm:.1f} mm needs about {math.ceil(needed / 60)} min of drying, the programme gives "
        f"{dry_s / 60:.0f}: steam may blister it or lift it off; dry longer in front of the muffle"
    )
