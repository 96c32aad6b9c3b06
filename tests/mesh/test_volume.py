"""Volumes against closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from solids import cap_mm3, cube, sphere, tube

from firstbake.errors import BadMesh
from firstbake.mesh import Surface, capped, overlap_volume, sub_surface, volume_between

SHELL_MM3 = 4 / 3 * math.pi * (5**3 - 4.2**3)  # spheres 5 and 4.2 mm: 213.2597


def band_mm3(upper: float, upper_angle: float, lower: float, lower_angle: float) -> float:
    """Closed form of the shell between two coaxial caps, their rims joined by a cone."""
    r1, z1 = upper * math.sin(upper_angle), upper * math.cos(upper_angle)
    r2, z2 = lower * math.sin(lower_angle), lower * math.cos(lower_angle)
    cone = math.pi * (z2 - z1) * (r1 * r1 + r1 * r2 + r2 * r2) / 3
    return cap_mm3(upper, upper_angle) - cone - cap_mm3(lower, lower_angle)


def test_nested_spheres_differ_by_their_divergence_volumes_and_reach_the_closed_form() -> None:
    assert pytest.approx(213.2597, abs=5e-5) == SHELL_MM3
    errors = []
    for rows in (40, 80, 160):
        outer, inner = sphere(5, rows), sphere(4.2, rows, centre=(0.3, 0.2, -0.1))
        found = volume_between(outer, inner)
        assert found == pytest.approx(outer.volume_mm3 - inner.volume_mm3, rel=1e-12)
        errors.append(SHELL_MM3 - found)
    # chord error of a sphere of 2·rows² triangles goes with 1/rows²
    assert errors[0] / errors[1] == pytest.approx(4, abs=0.1)
    assert errors[1] / errors[2] == pytest.approx(4, abs=0.1)
    assert 0 < errors[2] < 0.04


@pytest.mark.parametrize(("outer_to", "inner_to"), [(2.0, 1.7), (1.7, 1.7), (1.5, 1.9), (2.4, 2.0)])
def test_open_caps_cut_at_different_heights_reach_the_closed_form(outer_to: float, inner_to: float) -> None:
    exact = band_mm3(5, outer_to, 4.2, inner_to)
    for rows, share in ((50, 4e-3), (120, 1e-3)):
        outer = sphere(5, rows, to=outer_to)
        inner = sphere(4.2, rows + 7, to=inner_to, turn=0.4)
        assert volume_between(outer, inner) == pytest.approx(exact, rel=share)


@settings(max_examples=20, deadline=None)
@given(st.tuples(*[st.floats(-500, 500)] * 3))
def test_open_volume_does_not_depend_on_the_origin(shift: tuple[float, float, float]) -> None:
    outer, inner = sphere(5, 20, to=2.0), sphere(4.2, 23, to=1.7, turn=0.1)
    moved = volume_between(outer.moved(outer.vertices_mm + shift), inner.moved(inner.vertices_mm + shift))
    assert moved == pytest.approx(volume_between(outer, inner), rel=1e-9)


def test_open_and_closed_agree_where_the_margin_ring_is_shared() -> None:
    outer = sphere(5, 40, to=math.pi / 2)
    scale = np.ones((len(outer.vertices_mm), 1))
    scale[: -2 * 40] = 0.84
    inner = outer.moved(outer.vertices_mm * scale)
    closed = capped(outer).volume_mm3 - capped(inner).volume_mm3
    assert volume_between(outer, inner) == pytest.approx(closed, rel=1e-12)


def test_small_hole_beside_the_margin_is_capped() -> None:
    outer, inner = sphere(5, 40, to=2.0), sphere(4.2, 40, to=2.0)
    keep = np.ones(len(outer.faces), dtype=bool)
    keep[:80] = False  # the fan at the pole: a loop of 2.5 mm
    pierced, _ = sub_surface(outer, keep)
    lost = capped(outer).volume_mm3 - capped(pierced).volume_mm3
    whole = volume_between(outer, inner)
    assert volume_between(pierced, inner) == pytest.approx(whole - lost, abs=1e-9)
    assert 0 < lost < 0.01


def test_core_that_stands_out_takes_nothing_from_outside() -> None:
    outer, inner = cube(2.0), cube(2.0, (1.0, 0, 0))
    assert volume_between(outer, inner) == pytest.approx(4.0)


def test_open_contour_over_a_closed_core_ending_at_the_same_height() -> None:
    outer, inner = sphere(5, 30, to=math.pi / 2), capped(sphere(4.2, 30, to=math.pi / 2))
    assert volume_between(outer, inner) == pytest.approx(
        capped(outer).volume_mm3 - inner.volume_mm3, rel=1e-9
    )
    assert volume_between(capped(outer), sphere(4.2, 30, to=math.pi / 2)) == pytest.approx(
        volume_between(outer, inner), rel=1e-9
    )


@pytest.mark.parametrize(
    ("outer", "inner", "words"),
    [
        (sphere(5, 12), sphere(4.2, 12, to=1.2), "past the margin"),
        (sphere(5, 12, to=2.5), capped(sphere(4.2, 12, to=1.2)), "short of the margin"),
        (tube(5, 8, around=24, along=3), sphere(4.2, 12, to=1.2), "second open loop"),
    ],
)
def test_pairs_without_an_answer_are_refused(outer: Surface, inner: Surface, words: str) -> None:
    with pytest.raises(BadMesh, match=words):
        volume_between(outer, inner)


def test_inside_out_core_is_refused() -> None:
    inner = sphere(4.2, 12, to=1.7)
    with pytest.raises(BadMesh, match="opposite"):
        volume_between(sphere(5, 12, to=1.7), Surface(inner.vertices_mm, inner.faces[:, ::-1]))


def test_overlap_of_two_spheres_reaches_the_closed_form() -> None:
    R, r, d = 5.0, 4.0, 8.5
    # lens of two spheres: Weisstein, MathWorld, "Sphere-Sphere Intersection"
    lens = (
        math.pi
        * (R + r - d) ** 2
        * (d * d + 2 * d * r - 3 * r * r + 2 * d * R + 6 * r * R - 3 * R * R)
        / (12 * d)
    )
    found = overlap_volume(sphere(R, 100), sphere(r, 100, centre=(0, d, 0)))
    assert found == pytest.approx(lens, rel=0.01)
    cup = overlap_volume(sphere(R, 100, to=2.5), sphere(r, 100, centre=(0, d, 0)))
    assert cup == pytest.approx(lens, rel=0.01)
    assert overlap_volume(sphere(R, 20), sphere(r, 20, centre=(0, 9.5, 0))) == 0.0
