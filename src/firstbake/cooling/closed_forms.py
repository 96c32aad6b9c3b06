"""Stresses of simple bodies in closed form: for pairs of materials, and to check the meshes against.

Tension is greater than 0. A change of temperature is end minus start: cooling is less than 0. None of these
judges a crown: a flat bar that may bend pulls its porcelain's surface where a closed crown presses it.
"""

from dataclasses import dataclass

import numpy as np

from firstbake.cooling.solid import Solid
from firstbake.errors import BadSum


@dataclass(frozen=True)
class BentPlate:
    """A flat pair free to bend. bend_per_m : 1/m; stresses in MPa on each side of the bond and outside."""

    bend_per_m: float
    veneer_bond_MPa: float
    veneer_surface_MPa: float
    core_bond_MPa: float
    core_surface_MPa: float
    veneer_mean_MPa: float


def bent_plate(
    veneer: Solid,
    core: Solid,
    *,
    veneer_mm: float,
    core_mm: float,
    change_K: float,
    strip: bool = False,
) -> BentPlate:
    """Two layers bonded flat, free to bend in both directions (a strip: in one, without Poisson's effect).

    source : lamination theory; equal to Timoshenko 1925, J. Opt. Soc. Am. 11, 233 for a strip
    raises : BadSum when a thickness is not greater than 0
    """
    if min(veneer_mm, core_mm) <= 0:
        raise BadSum("both layers of a pair need a thickness greater than 0 mm")
    stiff = np.array([_in_plane_MPa(s, strip=strip) for s in (veneer, core)])
    swell = np.array([s.expansion_ppm_per_K * 1e-6 * change_K for s in (veneer, core)])
    high = np.array([veneer_mm, core_mm])
    signs = np.array([1.0, -1.0])
    stretch, couple, bend = stiff @ high, 0.5 * stiff @ (signs * high**2), stiff @ high**3 / 3
    force, moment = stiff @ (swell * high), 0.5 * stiff @ (signs * swell * high**2)
    even, curvature = np.linalg.solve([[stretch, couple], [couple, bend]], [force, moment])
    bond = stiff * (even - swell)
    outside = stiff * (even + curvature * signs * high - swell)
    return BentPlate(
        float(curvature * 1e3),
        float(bond[0]),
        float(outside[0]),
        float(bond[1]),
        float(outside[1]),
        float((bond[0] + outside[0]) / 2),
    )


def _in_plane_MPa(solid: Solid, *, strip: bool) -> float:
    return 1e3 * solid.stiffness_GPa / (1.0 if strip else 1.0 - solid.poisson_ratio)


def strip_bend_per_mm(
    expansions_ppm_per_K: tuple[float, float],
    *,
    thickness_mm: tuple[float, float],
    stiffness_ratio: float,
    change_K: float,
) -> float:
    """Curvature of a strip of two metals, 1/mm (Timoshenko 1925, J. Opt. Soc. Am. 11, 233).

    stiffness_ratio : modulus of the first over that of the second layer
    """
    m, n, whole = thickness_mm[0] / thickness_mm[1], stiffness_ratio, sum(thickness_mm)
    gap = (expansions_ppm_per_K[1] - expansions_ppm_per_K[0]) * 1e-6 * change_K
    below = 3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n))
    return 6 * gap * (1 + m) ** 2 / (whole * below)


def thin_film_MPa(core: Solid, *, core_mm: float, film_mm: float, bend_per_m: float) -> float:
    """Stress of a film much thinner than its core from the bend it causes (Stoney, plate form), MPa."""
    plate = 1e3 * core.stiffness_GPa / (1 - core.poisson_ratio)
    return plate * core_mm**2 * bend_per_m * 1e-3 / (6 * film_mm)


def rigid_core_MPa(veneer: Solid, core: Solid, change_K: float) -> float:
    """Stress along the bond of porcelain on a core that neither bends nor yields, MPa."""
    gap = (core.expansion_ppm_per_K - veneer.expansion_ppm_per_K) * 1e-6 * change_K
    return _in_plane_MPa(veneer, strip=False) * gap


@dataclass(frozen=True)
class RoundPair:
    """A closed round pair: hoop stress at bond and surface of the porcelain, radial at the bond, MPa."""

    hoop_bond_MPa: float
    hoop_surface_MPa: float
    radial_bond_MPa: float


def round_pair(
    veneer: Solid, core: Solid, *, radii_mm: tuple[float, float, float], change_K: float
) -> RoundPair:
    """Concentric spheres: core from radii_mm[0] to [1], porcelain to [2].

    source : Lame's thick sphere, Timoshenko and Goodier, Theory of Elasticity
    raises : BadSum when the radii do not rise
    """
    inner, bond, outer = radii_mm
    if not 0 < inner < bond < outer:
        raise BadSum("the radii of a round pair must rise from the core's inside outward")
    gap = (core.expansion_ppm_per_K - veneer.expansion_ppm_per_K) * 1e-6 * change_K
    push = gap * bond / (_yields(core, inner, bond, at=bond) + _yields(veneer, bond, outer, at=bond))
    a, b = push * bond**3 / (outer**3 - bond**3), push * bond**3 * outer**3 / (2 * (outer**3 - bond**3))
    return RoundPair(a + b / bond**3, a + b / outer**3, -push)


def _yields(solid: Solid, inner_mm: float, outer_mm: float, *, at: float) -> float:
    """How far a shell gives way at one of its surfaces under a pressure there, mm/MPa, above 0."""
    stiff, poisson = 1e3 * solid.stiffness_GPa, solid.poisson_ratio
    volume = abs(outer_mm**3 - inner_mm**3)
    even = at**3 / volume
    bent = inner_mm**3 * outer_mm**3 / (2 * volume * at**3)
    hoop, radial = even + bent, even - 2 * bent
    return abs(at / stiff * ((1 - poisson) * hoop - poisson * radial))


def tempered_MPa(
    solid: Solid, *, depth_mm: float, rate_K_per_s: float, diffusivity_mm2_per_s: float, melt: bool = False
) -> tuple[float, float, float]:
    """Difference from surface to middle, K, and stress at both, MPa, of a slab that sets as it cools.

    depth_mm : half the thickness when cooled on both sides, all of it when cooled on one
    melt     : reckon with the expansion of the melt
    source   : parabolic temperature q d² / 2 D frozen in; two thirds at the surface, one third in the middle
    """
    gap_K = rate_K_per_s * depth_mm**2 / (2 * diffusivity_mm2_per_s)
    swell = solid.expansion_ppm_per_K * 1e-6 * (solid.liquid_ratio if melt else 1.0)
    whole = _in_plane_MPa(solid, strip=False) * swell * gap_K
    return gap_K, -2 / 3 * whole, whole / 3
