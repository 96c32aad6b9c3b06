"""How much pull porcelain bears: flaws, thickness of the layer, volume under tension."""

import numpy as np
from scipy.special import gamma

from firstbake.errors import BadSum
from firstbake.mesh import Floats

# Hutchinson and Suo 1992, Adv. Appl. Mech. 29, 63 (from memory, unverified): G = Z s² h (1 - v²) / E.
CRACK_SHAPES = {"surface crack": 3.951, "channelling": 1.976, "lifting": 1.028, "spalling": 0.343}
USUAL_TOUGHNESS = 0.8  # MPa sqrt(m), 0.7 to 1.1, from memory, unverified
USUAL_STRENGTH_MPa = 85.0  # three-point, Fischer, Stawarczyk and Haemmerle 2008, J Dent 36:316: 78 to 107
USUAL_WEIBULL = 10.0  # 6 to 15, from memory, unverified
TEST_VOLUME_MM3 = 4.0  # effective volume of a bend bar of that size, an estimate of this project


def bearable_MPa(thickness_mm: Floats | float, *, toughness: float, shape: str) -> Floats:
    """Even pull at which a layer of this thickness cracks in this way, MPa: K / sqrt(Z h).

    thickness_mm : any shape      toughness : MPa sqrt(m)      shape : a key of CRACK_SHAPES
    raises       : BadSum for another shape
    """
    if shape not in CRACK_SHAPES:
        raise BadSum(f'"{shape}" is not one of {", ".join(CRACK_SHAPES)}')
    metres = np.maximum(np.asarray(thickness_mm, dtype=np.float64), 1e-6) * 1e-3
    return np.asarray(toughness / np.sqrt(CRACK_SHAPES[shape] * metres))


def failure_probability(
    tension_MPa: Floats,
    volumes_mm3: Floats,
    *,
    strength_MPa: float,
    modulus: float,
    test_volume_mm3: float = TEST_VOLUME_MM3,
) -> float:
    """Chance that some flaw in the volume is worse than the pull there (Weibull, two parameters).

    tension_MPa, volumes_mm3 : (e,) of the parts; pressed parts count as none
    strength_MPa             : mean strength of bars of which test_volume_mm3 bears the full stress
    """
    scale = strength_MPa / float(gamma(1 + 1 / modulus))
    pull = np.maximum(np.asarray(tension_MPa, dtype=np.float64), 0.0) / scale
    risk = float((pull**modulus * volumes_mm3).sum() / test_volume_mm3)
    return float(-np.expm1(-risk))


def three_over_four_point(modulus: float) -> float:
    """Mean three-point over quarter-point four-point strength of equal bars: ((m + 2) / 2)^(1/m)."""
    return float(((modulus + 2) / 2) ** (1 / modulus))


def stress_from_dent_MPa(
    length_um: float, free_length_um: float, *, toughness: float, shape: float = 1.24
) -> float:
    """Residual stress from the half length of a dent's cracks against that of stress-free porcelain, MPa.

    K [1 - (c0 / c)^1.5] / (shape sqrt(c)): greater than 0 pulls (cracks longer than without stress).
    """
    metres = length_um * 1e-6
    return float(toughness * (1 - (free_length_um / length_um) ** 1.5) / (shape * np.sqrt(metres)))
