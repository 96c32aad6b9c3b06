"""Thin and unsupported places: words, area, depth, joining, specks, and what can be done about them."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from room_shapes import case_of, cup, material, sphere, upright

from firstbake.errors import BadCase
from firstbake.mesh import Surface
from firstbake.room import measure_room, regions_of, thickness_at
from firstbake.room.regions import below_zero_share

Floats = NDArray[np.float64]


def raised(core: Surface, towards: Floats, *, height_mm: float, radius_mm: float = 1.2) -> Surface:
    """The core with a smooth boss of the given height and radius in one direction."""
    unit = np.asarray(towards) / np.linalg.norm(towards)
    length = np.linalg.norm(core.vertices_mm, axis=1, keepdims=True)
    off = np.linalg.norm(core.vertices_mm / length - unit, axis=1) * length[0, 0]
    boss = np.clip(1 - (off / radius_mm) ** 2, 0, None) ** 2
    return core.moved(core.vertices_mm * (1 + height_mm * boss / length[:, 0])[:, None])


LABIAL = np.array([0.0, 0.87, 0.5])


def test_a_boss_on_the_core_is_one_thin_place_with_words_depth_and_area() -> None:
    core = raised(cup(4.0, rings=48), LABIAL, height_mm=0.7)
    room = measure_room(case_of(cup(5.0, rings=48), core, least_veneer_mm=0.6), upright())
    (spot,) = room.thin
    assert spot.kind == "thin"
    assert spot.where == "labial, middle third"
    assert spot.worst_mm == pytest.approx(0.3, abs=5e-3)
    assert spot.depth_mm == pytest.approx(0.3, abs=5e-3)
    assert spot.at_mm == pytest.approx(5.0 * LABIAL / np.linalg.norm(LABIAL), abs=0.1)
    assert (room.thickness_mm[spot.vertices] < 0.6).all()


def test_two_bosses_far_apart_are_two_places_and_near_ones_are_one() -> None:
    def places(angle: float) -> int:
        core = cup(4.0, rings=48)
        for turn in (-angle / 2, angle / 2):
            direction = np.array([np.sin(turn) * 0.87, np.cos(turn) * 0.87, 0.5])
            core = raised(core, direction, height_mm=0.6, radius_mm=0.6)
        return len(measure_room(case_of(cup(5.0, rings=48), core, least_veneer_mm=0.6), upright()).thin)

    assert places(1.2) == 2
    assert places(0.22) == 1


def test_specks_and_the_margin_band_are_not_reported() -> None:
    speck = raised(cup(4.0, rings=48), LABIAL, height_mm=0.45, radius_mm=0.3)
    assert measure_room(case_of(cup(5.0, rings=48), speck, least_veneer_mm=0.6), upright()).thin == ()
    low = raised(cup(4.0, rings=48), np.array([0, 1.0, 0.05]), height_mm=0.6, radius_mm=0.8)
    at_margin = case_of(cup(5.0, rings=48), low, least_veneer_mm=0.6, margin_band_mm=2.0)
    assert measure_room(at_margin, upright()).thin == ()
    inland = replace(at_margin, limits=replace(at_margin.limits, margin_band_mm=0.0))
    assert len(measure_room(inland, upright()).thin) == 1


def test_unsupported_porcelain_is_found_at_the_edge() -> None:
    short = cup(4.0, rings=48).vertices_mm * [1, 1, 0.55]
    room = measure_room(case_of(cup(5.0, rings=48), cup(4.0, rings=48).moved(short)), upright())
    (spot,) = room.unsupported
    assert spot.where == "incisal edge"
    assert spot.worst_mm == pytest.approx(5.0 - 0.55 * 4.0, abs=0.02)
    assert spot.depth_mm == pytest.approx(spot.worst_mm - 2.0, abs=1e-9)
    assert spot.choices[0].startswith("build the core up by 0.80 mm")


def choices_of(**changes: object) -> tuple[str, ...]:
    core = raised(cup(4.0, rings=48), LABIAL, height_mm=0.7)
    case = case_of(cup(5.0, rings=48), core, least_veneer_mm=0.6)
    (spot,) = measure_room(replace(case, **changes), upright()).thin  # type: ignore[arg-type]
    return spot.choices


def test_choices_come_with_millimetres_and_the_most_useful_first() -> None:
    choices = choices_of()
    assert choices[0] == "move the contour out by 0.30 mm at the labial, middle third"
    assert choices[1].startswith("thin the core by 0.10 mm here to a wall of 0.40 mm")
    assert "0.20 mm stays missing" in choices[1]
    assert choices[2].startswith("ask for 0.30 mm more reduction")


def test_the_core_is_not_thinned_below_its_card() -> None:
    assert not any("thin the core" in words for words in choices_of(core_wall_mm=0.4))
    whole = choices_of(core_wall_mm=0.9)
    assert any("thin the core by 0.30 mm here to a wall of 0.60 mm" in words for words in whole)
    assert not any("stays missing" in words for words in whole)


def test_the_contour_is_not_moved_into_a_neighbour() -> None:
    case = case_of(cup(5.0, rings=48), cup(4.0, rings=48))
    wall = sphere(3.0, rings=40, centre=tuple(8.1 * LABIAL / np.linalg.norm(LABIAL)))
    blocked = replace(case, neighbours=(replace(case.contour, name="wall.stl", surface=wall),)).neighbours
    choices = choices_of(neighbours=blocked)
    assert choices[0].startswith("thin the core")
    assert any(words == "move the contour out by 0.05 mm; wall.stl leaves no more" for words in choices)


def test_metal_may_come_to_the_surface_on_the_bite_of_a_back_tooth() -> None:
    core = raised(cup(4.0, rings=48), np.array([0, 0.1, 1.0]), height_mm=0.7)
    case = case_of(
        cup(5.0, rings=48),
        core,
        tooth="46",
        opposing=(sphere(6.0, rings=40, centre=(0, 0, 11.0)),),
        core_material=material("metal", least=0.3, usual=0.5),
        core_wall_mm=0.3,
    )
    (spot,) = measure_room(case, upright("46")).thin
    assert "metal to the surface" in spot.choices[0]
    assert "1.5 to 2.0 mm" in spot.choices[0]
    assert any("or of the opposing tooth" in words for words in spot.choices)
    assert not any("move the contour" in words for words in spot.choices)


def test_only_a_small_patch_may_be_accepted() -> None:
    small = raised(cup(4.0, rings=48), LABIAL, height_mm=0.7, radius_mm=0.7)
    large = raised(cup(4.0, rings=48), LABIAL, height_mm=0.7, radius_mm=2.5)
    for core, accepted in ((small, True), (large, False)):
        (spot,) = measure_room(case_of(cup(5.0, rings=48), core, least_veneer_mm=0.6), upright()).thin
        assert any("accept" in words for words in spot.choices) == accepted


def test_a_core_that_stands_out_is_refused_with_place_depth_and_advice() -> None:
    core = raised(cup(4.0, rings=48), LABIAL, height_mm=1.3)
    # 0.30 mm at the top of the boss; the shortest way out is a little shorter on its slope
    with pytest.raises(BadCase, match=r"stands out .* by 0\.(27|28|29|30) mm at the labial") as caught:
        measure_room(case_of(cup(5.0, rings=48), core), upright())
    assert "Move the contour out" in str(caught.value)


def test_a_scratch_is_reported_and_not_refused() -> None:
    core = raised(cup(4.0, rings=48), LABIAL, height_mm=1.04)
    room = measure_room(case_of(cup(5.0, rings=48), core), upright())
    assert room.thickness_mm.min() == pytest.approx(-0.04, abs=5e-3)
    assert room.thin[0].worst_mm == room.thickness_mm.min()
    assert room.along_normal_mm[np.argmin(room.thickness_mm)] == pytest.approx(-0.04, abs=5e-3)


def test_a_spike_of_the_core_between_the_contours_vertices_is_seen() -> None:
    # the contour is so coarse that none of its vertices lies in the boss
    core = raised(cup(4.0, rings=48), np.array([0, 0.891, 0.454]), height_mm=1.9, radius_mm=1.2)
    contour = cup(5.4, rings=5)
    assert thickness_at(case_of(contour, core), contour.vertices_mm).min() > 0.5
    with pytest.raises(BadCase, match="stands out"):
        measure_room(case_of(contour, core), upright())


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-1, 1), min_size=3, max_size=3))
def test_the_share_of_a_triangle_below_zero_agrees_with_counting(corners: list[float]) -> None:
    values = np.array(corners)
    grid = (np.arange(100) + 0.5) / 100
    u, v = (a.ravel() for a in np.meshgrid(grid, grid))
    folded = np.where((u + v > 1)[:, None], np.column_stack([1 - u, 1 - v]), np.column_stack([u, v]))
    field = values[0] + folded @ (values[1:] - values[0])
    share = float(below_zero_share(values[None])[0])
    assert 0 <= share <= 1
    assert share == pytest.approx(float((field < 0).mean()), abs=0.02)


def test_regions_of_serves_any_field() -> None:
    surface = sphere(5.0, rings=48)
    cosine = surface.vertices_mm[:, 2] / 5.0
    (patch,) = regions_of(
        surface, cosine - 0.9, kind="conflict", frame=upright(), value_mm=cosine, choices=lambda s: (s.where,)
    )
    # a cap where cos a > 0.9 has the area 2 pi r² (1 - 0.9)
    assert patch.area_mm2 == pytest.approx(2 * np.pi * 25 * 0.1, rel=0.01)
    assert patch.worst_mm == pytest.approx(1.0)
    assert patch.choices == (patch.where,)
    assert patch.kind == "conflict"
