"""How long to dry a build before the muffle closes."""

import math

USUAL_DRY_S = 240.0
USUAL_THICKNESS_MM = 1.5
_STEP_S = 30.0


def drying_s(thickness_mm: float) -> float:
    """Drying time of porcelain this thick, s: 4 min at 1.5 mm, growing with the square of the thickness.

    Common practice of the trade, no published source. Steam leaves by diffusion through the pores, hence the
    square. Not rounded, no floor.
    """
    return USUAL_DRY_S * (thickness_mm / USUAL_THICKNESS_MM) ** 2


def furnace_drying_s(thickness_mm: float) -> float:
    """Drying time to set on the furnace, s: never under 4 min, rounded up to half a minute."""
    return max(USUAL_DRY_S, math.ceil(drying_s(thickness_mm) / _STEP_S - 1e-9) * _STEP_S)
