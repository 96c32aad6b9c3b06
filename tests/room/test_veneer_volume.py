"""Veneer volume and median against closed forms, divergence and the real enamel solids."""

from collections.abc import Callable

import numpy as np
import pytest
from room_shapes import case_of, cup, sphere, upright

from firstbake.mesh import Surface
from firstbake.room import Room, measure_room


def median_mm(room: Room, contour: Surface) -> float:
    """Area-weighted median thickness of the veneered contour."""
    weight = np.where(room.veneered, contour.vertex_areas_mm2, 0.0)
    order = np.argsort(room.thickness_mm)
    heap = np.cumsum(weight[order])
    return float(room.thickness_mm[order][np.searchsorted(heap, heap[-1] / 2)])


def divergence_mm3(surface: Surface) -> float:
    """Volume of a closed surface, summed over its tetrahedra about the origin, in this test's own words."""
    return float(sum(np.linalg.det(surface.vertices_mm[face]) for face in surface.faces) / 6)


def test_closed_nested_solids_give_the_divergence_volume() -> None:
    contour, core = sphere(5.0, rings=30), sphere(4.2, rings=24, centre=(0.1, 0.2, 0.3))
    room = measure_room(case_of(contour, core, least_veneer_mm=0.1), upright())
    assert room.volume_mm3 == pytest.approx(divergence_mm3(contour) - divergence_mm3(core), rel=1e-6)


def test_the_volume_of_a_sphere_shell_is_right_to_the_tessellation() -> None:
    room = measure_room(case_of(sphere(5.0, rings=60), sphere(4.0, rings=60)), upright())
    # a latitude-longitude sphere of 60 rings loses about 1e-3 of its volume to its chords
    assert room.volume_mm3 == pytest.approx(4 / 3 * np.pi * (5.0**3 - 4.0**3), rel=2e-3)


def cap_volume_mm3(radius: float, polar: float) -> float:
    """Volume between a spherical cap and the cone from its rim to the centre: 2/3 pi r^3 (1 - cos a)."""
    return 2 / 3 * np.pi * radius**3 * (1 - np.cos(polar))


@pytest.mark.parametrize(("outer", "inner"), [(1.6, 1.6), (1.6, 1.45), (1.45, 1.6), (1.75, 1.5)])
def test_open_shells_whose_rings_differ_are_right_within_a_thousandth(outer: float, inner: float) -> None:
    room = measure_room(
        case_of(cup(5.0, rings=70, down_to=outer), cup(4.0, rings=60, down_to=inner)), upright()
    )
    # the two caps with their cones to the centre, and the band from rim to rim: a frustum's side of area
    # pi (r1 + r2) s, whose plane passes the centre at the distance (r2 z1 - r1 z2) / s
    r1, z1 = 5.0 * np.sin(outer), 5.0 * np.cos(outer)
    r2, z2 = 4.0 * np.sin(inner), 4.0 * np.cos(inner)
    band = np.pi / 3 * (r1 + r2) * (r2 * z1 - r1 * z2)
    wanted = cap_volume_mm3(5.0, outer) - cap_volume_mm3(4.0, inner) + band
    assert room.volume_mm3 == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(("tooth", "median", "volume"), [("31", 0.59, 55.2377), ("36", 1.16, 221.8239)])
@pytest.mark.parametrize(
    ("contour", "core"),
    [
        ("derived_target_outer_open", "derived_coping_proxy_open"),
        ("enamel", "derived_coping_proxy_open"),
        ("derived_target_outer_open", "dentin"),
        ("enamel", "dentin"),
    ],
)
def test_real_enamel_has_its_own_thickness_and_volume(
    real_tooth: Callable[[str], Surface], tooth: str, median: float, volume: float, contour: str, core: str
) -> None:
    # figures: README of the shared meshes (4000 random points) and the enamel solid's divergence volume
    outer, inner = real_tooth(f"{tooth}_{contour}"), real_tooth(f"{tooth}_{core}")
    room = measure_room(case_of(outer, inner, tooth=tooth, least_veneer_mm=0.01), upright(tooth))
    assert median_mm(room, outer) == pytest.approx(median, abs=0.03)
    assert room.volume_mm3 == pytest.approx(volume, rel=0.03)
