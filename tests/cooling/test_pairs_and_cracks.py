"""Pairs of materials against figures worked out elsewhere with the formulas named beside each."""

import numpy as np
import pytest
from blocks import pair

from firstbake.cooling import (
    Solid,
    bearable_MPa,
    bent_plate,
    failure_probability,
    rigid_core_MPa,
    round_pair,
    stress_from_dent_MPa,
    strip_bend_per_mm,
    tempered_MPa,
    thin_film_MPa,
    three_over_four_point,
)


def solid(stiffness, poisson, expansion, ratio=1.0):
    return Solid("x", stiffness, poisson, 1.2, 2.45, 780.0, 1050.0, expansion, liquid_ratio=ratio)


ZIRCONIA = solid(210.0, 0.30, 10.5)
PLATES = [
    (ZIRCONIA, 0.5, 9.5, 1.5, (0.4120, -34.53, 19.34, 53.68, -8.12)),
    (ZIRCONIA, 0.7, 9.5, 1.5, (0.3903, -33.35, 17.69, 57.75, -24.20)),
    (ZIRCONIA, 1.0, 9.5, 1.0, (0.3891, -29.52, 4.41, 70.93, -45.81)),
    (solid(220.0, 0.30, 14.4), 0.5, 13.4, 1.0, (0.5747, -33.12, 16.97, 61.30, -29.00)),
    (solid(90.0, 0.33, 14.4), 0.5, 13.4, 1.0, (0.5453, -30.07, 17.47, 30.91, -5.71)),
]


@pytest.mark.parametrize(("core", "core_mm", "expansion", "veneer_mm", "wanted"), PLATES)
def test_flat_pairs(core, core_mm, expansion, veneer_mm, wanted):
    """Lamination theory worked out elsewhere; 575 K of cooling, veneer 68 GPa and 0.22."""
    found = bent_plate(
        solid(68.0, 0.22, expansion), core, veneer_mm=veneer_mm, core_mm=core_mm, change_K=-575.0
    )
    assert abs(found.bend_per_m) == pytest.approx(wanted[0], abs=6e-5)
    values = (found.veneer_bond_MPa, found.veneer_surface_MPa, found.core_bond_MPa, found.core_surface_MPa)
    assert values == pytest.approx(wanted[1:], abs=0.006)


def test_rigid_core_round_pair_and_thin_film():
    veneer = solid(68.0, 0.22, 9.5)
    assert rigid_core_MPa(veneer, ZIRCONIA, -575.0) == pytest.approx(-50.13, abs=0.006)
    ball = round_pair(veneer, ZIRCONIA, radii_mm=(3.5, 4.0, 5.5), change_K=-575.0)
    assert ball.hoop_bond_MPa == pytest.approx(-26.01, abs=0.006)
    assert ball.radial_bond_MPa == pytest.approx(18.09, abs=0.006)
    assert ball.hoop_surface_MPa == pytest.approx(-16.97, abs=0.006)
    thin = bent_plate(veneer, ZIRCONIA, veneer_mm=0.01, core_mm=1.0, change_K=-575.0)
    assert thin.veneer_mean_MPa == pytest.approx(-49.54, abs=0.006)
    film = thin_film_MPa(ZIRCONIA, core_mm=1.0, film_mm=0.01, bend_per_m=thin.bend_per_m)
    assert abs(film) == pytest.approx(50.04, abs=0.006)


def test_the_textbook_strip():
    """300 mm high, 3000 mm long, 5 and 10 ppm/K, 50 K: 3 L² da dT / (4 h) = 5.625 mm at the end; stresses of
    half and a quarter of E da dT = 50 MPa (Timoshenko 1925, J. Opt. Soc. Am. 11, 233)."""
    bend = strip_bend_per_mm((5.0, 10.0), thickness_mm=(150.0, 150.0), stiffness_ratio=1.0, change_K=50.0)
    assert bend * 3000.0**2 / 2 == pytest.approx(5.625, rel=1e-12)
    one, two = solid(200.0, 0.3, 5.0), solid(200.0, 0.3, 10.0)
    plate = bent_plate(one, two, veneer_mm=150.0, core_mm=150.0, change_K=50.0, strip=True)
    assert abs(plate.bend_per_m) * 1e-3 == pytest.approx(bend, rel=1e-12)
    assert (plate.veneer_bond_MPa, plate.core_bond_MPa) == pytest.approx((25.0, -25.0), abs=1e-9)
    assert (plate.veneer_surface_MPa, plate.core_surface_MPa) == pytest.approx((-12.5, 12.5), abs=1e-9)


def test_tempering_of_a_slab():
    """q d² / 2 D and two thirds of E a dT / (1 - v), worked out elsewhere for porcelain of 9.5 ppm/K."""
    porcelain = solid(68.0, 0.22, 9.5, ratio=25 / 9.5)
    gap, surface, _ = tempered_MPa(porcelain, depth_mm=1.0, rate_K_per_s=5.0, diffusivity_mm2_per_s=0.66)
    assert (gap, surface) == pytest.approx((3.79, -2.09), abs=0.006)
    thick = {"depth_mm": 1.5, "rate_K_per_s": 15.0, "diffusivity_mm2_per_s": 0.66}
    gap, surface, middle = tempered_MPa(porcelain, **thick)
    assert (gap, surface) == pytest.approx((25.6, -14.1), abs=0.06)
    assert middle == pytest.approx(-surface / 2, rel=1e-12)
    assert tempered_MPa(porcelain, **thick, melt=True)[1] == pytest.approx(-37.2, abs=0.06)


@pytest.mark.parametrize(
    ("shape", "wanted"),
    [
        ("channelling", (25.5, 18.0, 14.7, 12.7, 11.4)),
        ("lifting", (35.3, 25.0, 20.4, 17.6, 15.8)),
        ("spalling", (61.1, 43.2, 35.3, 30.5, 27.3)),
    ],
)
def test_thick_layers_crack_at_lower_pull(shape, wanted):
    """K / sqrt(Z h) with 0.8 MPa sqrt(m), after Hutchinson and Suo 1992, Adv. Appl. Mech. 29, 63."""
    found = bearable_MPa(np.array([0.5, 1.0, 1.5, 2.0, 2.5]), toughness=0.8, shape=shape)
    assert found == pytest.approx(wanted, abs=0.051)
    assert (np.diff(found) < 0).all()


def test_three_and_four_point_bars():
    """1.196 and 1.26 for moduli 10 and 6; Fischer et al. 2008, J Dent 36:316 measured 1.13 to 1.31."""
    assert three_over_four_point(10.0) == pytest.approx(1.196, abs=5e-4)
    assert three_over_four_point(6.0) == pytest.approx(1.26, abs=5e-3)


def test_weibull_gives_back_the_mean_strength_of_its_own_bars():
    """The chance at each stress integrates to the mean strength: E[s] = integral of (1 - P) ds."""
    stress = np.linspace(0.0, 200.0, 4001)
    fails = [
        failure_probability(
            np.array([s]), np.array([4.0]), strength_MPa=85.0, modulus=10.0, test_volume_mm3=4.0
        )
        for s in stress
    ]
    assert np.trapezoid(1 - np.array(fails), stress) == pytest.approx(85.0, rel=1e-3)
    assert failure_probability(np.array([-50.0]), np.array([9.0]), strength_MPa=85.0, modulus=10.0) == 0.0


def test_air_blast_presses_a_disc_as_far_as_dents_told():
    """Discs of 0.5 mm opaque and 1.5 mm body: dents of 103.6 to 87.1 um in air, 89.3 to 70.2 with an air
    blast (J Dent Res 68, 1989, doi 10.1177/00220345890680070801), -27 to -69 MPa by the dent formula."""
    air, blast = (103.6, 101.5, 101.1, 87.1, 91.9), (89.3, 81.0, 74.5, 70.2, 76.0)
    found = [stress_from_dent_MPa(b / 2, a / 2, toughness=0.9) for a, b in zip(air, blast, strict=True)]
    assert found == pytest.approx((-27, -46, -69, -47, -39), abs=1.0)
    porcelain = solid(68.0, 0.22, 13.2, ratio=2.5)
    sizes = {"depth_mm": 1.0, "diffusivity_mm2_per_s": 0.66, "melt": True}
    tempered = [tempered_MPa(porcelain, rate_K_per_s=q, **sizes)[1] for q in (20.0, 40.0)]
    assert all(-80 < t < -20 for t in tempered)


def test_a_pair_of_blocks_is_the_one_of_the_formulas():
    veneer, core = pair()
    assert rigid_core_MPa(veneer, core, -575.0) == pytest.approx(-50.13, abs=0.006)
