"""Where porcelain sets, and what a round crown keeps of its cooling."""

import numpy as np
import pytest
from blocks import ball, pair

from firstbake.cooling import (
    ball_stress,
    bench,
    cooling_stress,
    filled,
    rate_K_per_s,
    relaxation_s,
    set_degC,
    slow,
    structure_after,
)
from firstbake.powder import USUAL_VISCOSITY

SIZES = {"inner_mm": 3.5, "wall_mm": 0.5, "thickness_mm": 1.5, "start_degC": 900.0}


@pytest.mark.parametrize(("rate_K_per_s_", "wanted"), [(2 / 60, 548), (0.5, 588), (5.0, 627), (50.0, 671)])
def test_faster_cooling_sets_hotter(rate_K_per_s_, wanted):
    """(eta / G) q d(ln eta)/dT = 1 with G = 28 GPa, worked out elsewhere for the same viscosity."""
    assert set_degC(USUAL_VISCOSITY, rate_K_per_s_) == pytest.approx(wanted, abs=0.6)


def test_structure_follows_the_exact_answer_at_a_steady_rate():
    """dTs/dt = (T - Ts)/t with T falling evenly: Ts = T + q t (1 - exp(-s/t)) after s seconds."""
    found = structure_after(np.array(600.0), (np.array(600.0), np.array(590.0)), 4.0, np.array(3.0))
    assert float(found) == pytest.approx(590 + 2.5 * 3.0 * (1 - np.exp(-4 / 3)), rel=1e-12)


def test_the_structure_kept_hardly_depends_on_the_step():
    kept = []
    for step_K in (1.0, 10.0):
        degC, structure = 800.0, np.array(800.0)
        while degC > 300:
            after = degC - step_K
            time = relaxation_s(USUAL_VISCOSITY, np.array((degC + after) / 2), structure, shear_MPa=28e3)
            structure = structure_after(structure, (np.array(degC), np.array(after)), step_K / 5.0, time)
            degC = after
        kept.append(float(structure))
    assert abs(kept[0] - kept[1]) < 1.0


def test_bench_and_furnace_rates_of_a_wall():
    """1.5 mm veneer (2.45 g/cm³, 1000 J/kgK) on 0.5 mm zirconia (6.05, 580), cooled on one side at 600 degC:
    382 and 108 K/min for 60 and 17 W/m²K, a heat balance done elsewhere."""
    heat = 1.5 * 2.45e-6 * 1000 + 0.5 * 6.05e-6 * 580
    assert 60 * rate_K_per_s(60.0, 600.0, heat) == pytest.approx(382, rel=0.005)
    assert 60 * rate_K_per_s(17.0, 600.0, heat) == pytest.approx(108, rel=0.005)


def test_without_gradients_a_ball_keeps_the_mismatch_alone():
    """Cooled so slowly that it is even in temperature, and no melt swelling: Lame's answer from the set
    temperature down."""
    veneer, core = pair(ratio=0.0)
    found = ball_stress(veneer, core, slow(0.5, 100.0), **SIZES)
    hot = found.set_degC.mean()
    scale = (hot - 25) / 575.0
    assert found.hoop_MPa[0] == pytest.approx(-26.01 * scale, rel=0.05)
    assert found.hoop_MPa[-1] == pytest.approx(-16.97 * scale, rel=0.05)


def test_slow_pulls_across_the_bond_and_presses_along_it():
    """Signs of Meira et al. 2013, Dent Mater 29:594 for zirconia crowns cooled slowly."""
    for ratio in (0.0, 1.0, 1.5):
        found = ball_stress(*pair(ratio=ratio), slow(30.0, 500.0), **SIZES)
        assert found.radial_MPa[0] > 0
        assert found.hoop_MPa.max() < 0


def test_fast_cooling_turns_the_hoop_to_pull_between_ratios_1_and_1_5():
    """Meira et al. 2013: fast cooling with the melt's extra expansion up to that of the solid keeps the hoop
    pressed, from one and a half times it on pulled."""
    at_bond = {r: ball_stress(*pair(ratio=r), bench(), **SIZES).hoop_MPa[0] for r in (0.0, 1.0, 1.5, 2.0)}
    assert at_bond[0.0] < at_bond[1.0] < 0 < at_bond[1.5] < at_bond[2.0]


@pytest.mark.parametrize(("legs", "near_MPa"), [(bench(), 4.0), (slow(30.0, 500.0), 2.2)])
def test_tetrahedra_keep_what_the_round_sum_keeps(legs, near_MPa):
    veneer, core = pair()
    crown = ball(0.8)
    found = cooling_stress(crown, filled(crown, veneer, core), legs, start_degC=900.0)
    wanted = ball_stress(veneer, core, legs, **SIZES)
    radius = np.linalg.norm(crown.nodes_mm[: len(found.stress_MPa)], axis=1)
    out = crown.nodes_mm[: len(radius)] / radius[:, None]
    radial = np.einsum("ni,nij,nj->n", out, found.stress_MPa, out)
    hoop = (np.trace(found.stress_MPa, axis1=1, axis2=2) - radial) / 2
    for at in (4.0, 4.5, 5.0, 5.5):
        here = np.abs(radius - at) < 0.08
        mean = radius[here].mean()
        assert hoop[here].mean() == pytest.approx(
            np.interp(mean, wanted.radius_mm, wanted.hoop_MPa), abs=near_MPa
        )
        assert radial[here].mean() == pytest.approx(
            np.interp(mean, wanted.radius_mm, wanted.radial_MPa), abs=near_MPa
        )
    assert found.set_degC[0] == pytest.approx(wanted.set_degC.min(), abs=3.0)
    assert found.greatest_gap_K[0] > 1.0
