"""Thickness is the shortest distance, signed, wherever it is asked for."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from room_shapes import case_of, cup, sphere, upright

from firstbake.mesh import Surface
from firstbake.room import measure_room, thickness_at
from firstbake.room.sides import approach, distance_to_loop

Floats = NDArray[np.float64]


def segment_distance(p: Floats, a: Floats, b: Floats) -> Floats:
    """Distance of one point to (m,) segments: projection clamped to the ends."""
    along = np.einsum("ij,ij->i", p - a, b - a) / np.maximum(np.einsum("ij,ij->i", b - a, b - a), 1e-300)
    return np.linalg.norm(p - a - np.clip(along, 0, 1)[:, None] * (b - a), axis=1)


def brute_force(surface: Surface, points: Floats) -> Floats:
    """Our own search: plane distance where the foot falls inside the triangle, else the nearest edge."""
    a, b, c = (surface.vertices_mm[surface.faces[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    found = []
    for p in points:
        inside = np.ones(len(a), dtype=bool)
        for s, e in ((a, b), (b, c), (c, a)):
            inside &= np.einsum("ij,ij->i", np.cross(e - s, p - s), normal) >= 0
        plane = np.where(inside, np.abs(np.einsum("ij,ij->i", p - a, normal)), np.inf)
        edges = [segment_distance(p, s, e) for s, e in ((a, b), (b, c), (c, a))]
        found.append(min(plane.min(), *(edge.min() for edge in edges)))
    return np.array(found)


def lumpy(radius_mm: float, *, rings: int) -> Surface:
    """A sphere with bumps and dents, for a search that has to work."""
    round_one = sphere(radius_mm, rings=rings)
    x, y, z = round_one.vertices_mm.T
    swell = 1 + 0.08 * np.sin(2 * x) * np.cos(1.7 * y) + 0.05 * np.sin(3 * z)
    return round_one.moved(round_one.vertices_mm * swell[:, None])


def test_thickness_agrees_with_brute_force_within_a_micrometre() -> None:
    core = lumpy(4.0, rings=24)
    points = np.random.default_rng(11).normal(scale=3.5, size=(300, 3))
    found = thickness_at(case_of(lumpy(5.5, rings=24), core), points)
    assert np.abs(np.abs(found) - brute_force(core, points)).max() < 1e-3
    assert (found > 0).sum() > 100
    assert (found < 0).sum() > 50


def test_thickness_agrees_with_brute_force_on_a_real_molar(real_tooth: Callable[[str], Surface]) -> None:
    contour, core = (real_tooth(f"36_derived_{k}_open") for k in ("target_outer", "coping_proxy"))
    picked = np.random.default_rng(5).choice(len(contour.vertices_mm), 300, replace=False)
    points = contour.vertices_mm[picked]
    found = thickness_at(case_of(contour, core, tooth="36"), points)
    assert np.abs(np.abs(found) - brute_force(core, points)).max() < 1e-3


def test_concentric_spheres_have_the_difference_of_the_radii_everywhere() -> None:
    room = measure_room(case_of(sphere(5.0, rings=60), sphere(4.0, rings=60)), upright())
    # chord error of the core's facets: r (1 - cos(pi / 120)) = 1.4 um sideways and as much along
    assert np.abs(room.thickness_mm - 1.0).max() < 2.8e-3
    assert np.abs(room.along_normal_mm - 1.0).max() < 2.8e-3
    assert room.veneered.all()
    assert np.isinf(room.margin_mm).all()


def test_eccentric_spheres_are_thinnest_where_the_sum_says() -> None:
    shift = np.array([0.3, -0.2, 0.5])
    core = sphere(4.2, rings=60, centre=(0.3, -0.2, 0.5))
    case = case_of(sphere(5.0, rings=60), core, least_veneer_mm=0.35)
    room = measure_room(case, upright())
    eccentric = np.linalg.norm(shift)
    assert room.thickness_mm.min() == pytest.approx(5.0 - 4.2 - eccentric, abs=4e-3)
    thinnest = case.contour.surface.vertices_mm[np.argmin(room.thickness_mm)]
    assert thinnest == pytest.approx(5.0 * shift / eccentric, abs=0.2)
    # a point at the angle a from the axis is sqrt(25 + e² - 10 e cos a) - 4.2 thick: a cap is below the limit
    cosine = (25.0 + eccentric**2 - 4.55**2) / (10.0 * eccentric)
    assert len(room.thin) == 1
    assert room.thin[0].area_mm2 == pytest.approx(50.0 * np.pi * (1 - cosine), rel=0.02)
    assert room.thin[0].worst_mm == pytest.approx(0.8 - eccentric, abs=4e-3)
    assert room.foot_mm[np.argmin(room.thickness_mm)] == pytest.approx(
        shift + 4.2 * shift / eccentric, abs=0.2
    )


@settings(max_examples=25, deadline=None)
@given(
    height=st.floats(0.02, 4.5),
    turn=st.floats(0, 2 * np.pi),
    off=st.floats(0.01, 2.0) | st.floats(-2.0, -0.01),
)
def test_the_sign_holds_right_down_to_an_open_margin(height: float, turn: float, off: float) -> None:
    # points above the margin plane of an open half sphere of radius 5, a known distance from it
    core = cup(5.0, rings=40)
    flat = np.sqrt(max(25.0 - height**2, 0.0))
    foot = np.array([flat * np.cos(turn), flat * np.sin(turn), height])
    point = foot * (1 + off / 5.0)
    if point[2] < 0.02:
        return
    assert approach(core, point[None]).distance_mm[0] == pytest.approx(off, abs=6e-3)


def test_the_margin_distance_is_that_to_the_loop() -> None:
    core = cup(4.0, rings=20)
    points = np.array([[6.0, 0, 0], [4.0, 0, 3.0], [0, 0, 3.0], [0, -4.5, 0.0]])
    found = distance_to_loop(core, core.loops[0], points)
    # a ring of 40 chords: 4 (1 - cos(pi / 40)) = 0.012 mm inside the circle at most
    assert found == pytest.approx([2.0, 3.0, 5.0, 0.5], abs=0.013)


def test_a_ray_that_misses_the_core_gives_no_number_and_its_neighbours_do() -> None:
    room = measure_room(case_of(cup(5.0, rings=40, down_to=1.9), cup(4.0, rings=40, down_to=1.2)), upright())
    assert np.isnan(room.along_normal_mm).any()
    seen = ~np.isnan(room.along_normal_mm)
    assert room.along_normal_mm[seen] == pytest.approx(1.0, abs=0.01)
    assert np.isfinite(room.thickness_mm).all()
