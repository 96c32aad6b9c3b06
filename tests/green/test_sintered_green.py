"""The finite-element green shape: closed forms on balls, mass, two packings, and firing it again."""

import numpy as np
import pytest
from conftest import ball, made, powder

from firstbake.fem import film_thickness_ratio
from firstbake.green import bake_green, build_green, column_green
from firstbake.green.packed import part_below

# A shell on a rigid ball keeps its volume of solid and shrinks in thickness only, by symmetry, so its green
# radius follows from mass alone: r_green^3 = r_core^3 + f (r^3 - r_core^3) with f the volume factor.


def green_radius(core: float, outer: float, factor: float) -> float:
    return float(np.cbrt(core**3 + factor * (outer**3 - core**3)))


@pytest.fixture(scope="module")
def shell():
    return made(ball(4.5, 5), ball(3.0, 5), (powder("dentine"),))


@pytest.fixture(scope="module")
def built(shell):
    return build_green(shell.case, shell.room, layers=shell.layers)


def test_a_shell_on_a_ball_has_the_closed_form_radius(built):
    radius = np.linalg.norm(built.contour.vertices_mm, axis=1)
    assert built.model == "sintering, finite elements"
    assert radius == pytest.approx(green_radius(3.0, 4.5, 0.98 / 0.60), abs=0.02)
    assert radius.mean() == pytest.approx(green_radius(3.0, 4.5, 0.98 / 0.60), abs=0.004)


def test_the_amounts_are_those_of_the_mass_balance_and_the_mesh_agrees(shell, built):
    asked = 0.98 / 0.60 * shell.layers.layers[0].volume_mm3
    assert built.volume_mm3 == pytest.approx(asked, rel=1e-12)
    assert built.mass_closure == pytest.approx(1.0, abs=0.01)
    assert column_green(shell.case, shell.room, layers=shell.layers).volume_mm3 == pytest.approx(asked)


def test_how_it_was_found_is_told(built):
    assert built.residual_um < 10
    assert built.sweeps >= 1
    assert built.nodes > 500
    assert built.error_estimate_um > 0
    # by hand: the radius changes with the packing as f = 0.98 / (0.60 +- 0.02) says
    loose, dense = (green_radius(3.0, 4.5, 0.98 / d) for d in (0.58, 0.62))
    assert built.edge_per_sd_mm == pytest.approx((loose - dense) / 2, rel=0.15)


def test_firing_the_green_mesh_again_gives_the_wanted_ball(shell, built):
    again = bake_green(shell.case, shell.room, built.contour, layers=shell.layers)
    off = np.abs(again.deviation_mm[again.counted])
    assert np.percentile(off, 99) < 0.03
    assert np.sqrt(np.mean(off**2)) < 0.01
    assert len(again.fired.vertices_mm) == len(built.contour.vertices_mm)
    assert again.fired_volume_mm3 / again.volume_mm3 == pytest.approx(0.60 / 0.98, rel=1e-6)


def test_two_packings_put_the_interface_where_mass_alone_puts_it():
    # inner powder packed to 0.56, outer to 0.64; the interface at 3.7 mm fired moves by its own mass
    cut = ball(3.7, 5)
    kit = powder("dentine", green=0.56), powder("enamel", green=0.64)
    m = made(
        ball(4.5, 5), ball(3.0, 5), kit, shares=(0.7 / 1.5, 0.8 / 1.5), cut_back=cut,
        cut_volume=cut.volume_mm3 - ball(3.0, 5).volume_mm3, margin_z_mm=0.0,
    )  # fmt: skip
    green = build_green(m.case, m.room, layers=m.layers)
    radius = np.linalg.norm(green.dentine_cut.vertices_mm, axis=1)
    wanted = green_radius(3.0, 3.7, 0.98 / 0.56)
    assert np.sqrt(np.mean((radius - wanted) ** 2)) < 0.02
    outer = np.cbrt(wanted**3 + 0.98 / 0.64 * (4.5**3 - 3.7**3))
    assert np.linalg.norm(green.contour.vertices_mm, axis=1).mean() == pytest.approx(outer, abs=0.01)


def test_a_liner_baked_before_does_not_shrink_again():
    # mass alone: what lies over the liner's own surface at 3.2 mm fired grows, the liner does not
    kit = powder("liner"), powder("dentine")
    m = made(ball(4.5, 5), ball(3.0, 5), kit, shares=(0.2 / 1.5, 1.3 / 1.5), margin_z_mm=0.0)
    factor = kit[1].volume_factor
    green = build_green(m.case, m.room, layers=m.layers)
    outer = np.cbrt(3.2**3 + factor * (4.5**3 - 3.2**3))
    assert np.linalg.norm(green.contour.vertices_mm, axis=1).mean() == pytest.approx(outer, abs=0.005)
    assert abs(green_radius(3.0, 4.5, factor) - outer) > 0.04  # it would, were it green as well
    again = bake_green(m.case, m.room, green.contour, layers=m.layers)
    assert np.percentile(np.abs(again.deviation_mm[again.counted]), 99) < 0.03


def test_parts_of_a_tetrahedron_below_a_plane_agree_with_counting_points():
    rng = np.random.default_rng(5)
    values = rng.normal(size=(40, 4))
    counted = (rng.dirichlet(np.ones(4), 100_000) @ values.T < 0).mean(axis=0)
    assert part_below(values) == pytest.approx(counted, abs=0.01)
    assert part_below(np.array([[-1.0, -1, 1, 1], [0, 0, 1, 1], [-1, 0, 0, 0]])) == pytest.approx(
        [0.5, 0, 1], abs=1e-5
    )


def test_the_film_rule_of_the_model_is_the_mass_balance():
    assert film_thickness_ratio(0.60, 0.98) == pytest.approx(0.60 / 0.98)
