"""Generated crowns: exact sizes, one margin ring, no folds, proper handedness, wanted room."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstbake.errors import BadCase
from firstbake.mesh import Surface, capped, nearest, winding_number
from firstbake.teeth import (
    GeneratedCrown,
    Rooms,
    ThinSpot,
    Tooth,
    generate_contour,
    generate_crown,
    usual_rooms,
    usual_sizes,
)

KINDS = ["11", "22", "13", "14", "25", "16", "27", "18", "41", "32", "43", "34", "45", "36", "47", "38"]


@cache
def crown(number: str) -> GeneratedCrown:
    return generate_crown(Tooth(number), usual_sizes(Tooth(number)), triangles=3000)


def folded_faces(surface: Surface) -> int:
    """Faces of an open surface, closed by a cap, that do not have winding 0 outside and 1 inside."""
    middle = surface.vertices_mm[surface.faces].mean(axis=1)
    step = 2e-4 * surface.face_normals
    closed = capped(surface)
    outside, inside = winding_number(closed, middle + step), winding_number(closed, middle - step)
    return int(((np.abs(outside) > 0.1) | (np.abs(inside - 1) > 0.1)).sum())


def test_the_fold_gate_sees_a_planted_fold() -> None:
    good = crown("11").contour
    bent = np.array(good.vertices_mm)
    far = np.argsort(np.linalg.norm(bent - bent[len(bent) // 2], axis=1))[:12]
    bent[far] -= 12.0 * good.vertex_normals[len(bent) // 2]
    assert folded_faces(good.moved(bent)) > 0


@pytest.mark.parametrize("number", KINDS)
def test_sizes_are_exact_and_nothing_folds(number: str) -> None:
    made, sizes = crown(number), usual_sizes(Tooth(number))
    extent = np.ptp(made.contour.bounds_mm, axis=0)
    wanted = [sizes.mesiodistal_mm, sizes.labiopalatal_mm, sizes.crown_height_mm]
    assert extent == pytest.approx(wanted, abs=1e-6)
    assert folded_faces(made.contour) == 0
    assert folded_faces(made.core) == 0
    assert made.contour.face_areas_mm2.min() > 0
    assert 0 < made.core.volume_mm3 < made.contour.volume_mm3


@settings(max_examples=8, deadline=None)
@given(
    number=st.sampled_from(KINDS),
    stretch=st.tuples(*[st.floats(0.8, 1.25)] * 3),
)
def test_calliper_sizes_are_exact_to_a_hundredth(number: str, stretch: tuple[float, float, float]) -> None:
    usual = usual_sizes(Tooth(number))
    wanted = (
        usual.mesiodistal_mm * stretch[0],
        usual.labiopalatal_mm * stretch[1],
        usual.crown_height_mm * stretch[2],
    )
    sizes = usual.resized(
        mesiodistal_mm=wanted[0], labiopalatal_mm=wanted[1], crown_height_mm=wanted[2], source="calliper"
    )
    made = generate_contour(Tooth(number), sizes, triangles=3000)
    assert np.ptp(made.bounds_mm, axis=0) == pytest.approx(wanted, abs=0.01)
    assert folded_faces(made) == 0


@pytest.mark.parametrize("number", KINDS)
def test_contour_and_core_share_one_margin_ring(number: str) -> None:
    made = crown(number)
    assert len(made.contour.loops) == len(made.core.loops) == 1
    outer = made.contour.vertices_mm[np.sort(made.contour.loops[0])]
    inner = made.core.vertices_mm[np.sort(made.core.loops[0])]
    assert np.array_equal(outer, inner)


@pytest.mark.parametrize("number", ["11", "13", "14", "36"])
def test_a_left_tooth_is_the_mirror_image_of_the_right_one(number: str) -> None:
    twin = {"1": "2", "3": "4"}[number[0]] + number[1]
    one, other = crown(number), crown(twin)
    assert np.allclose(one.contour.vertices_mm * [-1, 1, 1], other.contour.vertices_mm, atol=1e-12)
    assert one.contour.volume_mm3 == pytest.approx(other.contour.volume_mm3)
    assert other.contour.volume_mm3 > 0


@pytest.mark.parametrize("number", ["11", "22", "33", "44"])
def test_crowns_stand_as_in_the_mouth(number: str) -> None:
    taps, tooth = crown(number).landmarks, Tooth(number)
    incisal, mesial, labial = taps.incisal_mid_mm, taps.mesial_contact_mm, taps.labial_mid_mm
    assert incisal is not None and mesial is not None and labial is not None
    assert (incisal[2] < 0) == tooth.is_upper
    assert (mesial[0] > 0) == (number[0] in "14")  # +x is the patient's left, the midline of right teeth
    assert labial[1] < 0


def middle_room(made: GeneratedCrown, share: float, *, labial: bool) -> float:
    """Shortest distance from core to contour at a height share (of the labial height), mid-face, mm."""
    points = made.core.vertices_mm
    height = float(np.ptp(made.contour.vertices_mm[:, 2]))
    tall = np.abs(points[:, 2] - made.contour.vertices_mm[made.contour.loops[0], 2].max())
    front = (points[:, 1] < 0) == labial
    near = front & (np.abs(points[:, 0]) < 0.5) & (np.abs(tall / height - share) < 0.03)
    return float(nearest(made.contour, points[near]).distance_mm.mean())


@pytest.mark.parametrize("number", ["11", "21"])
def test_measured_room_is_the_wanted_room(number: str) -> None:
    rooms = Rooms(labial_cervical_mm=0.7, labial_middle_mm=1.0, labial_incisal_mm=1.2, palatal_mm=0.65)
    made = generate_crown(Tooth(number), usual_sizes(Tooth(number)), rooms=rooms, triangles=8000)
    assert middle_room(made, 1 / 6, labial=True) == pytest.approx(0.7, abs=0.05)
    assert middle_room(made, 0.5, labial=True) == pytest.approx(1.0, abs=0.05)
    assert middle_room(made, 0.7, labial=True) == pytest.approx(1.2, abs=0.1)
    assert middle_room(made, 0.5, labial=False) == pytest.approx(0.65, abs=0.05)
    edge = made.contour.bounds_mm[0, 2] - made.core.bounds_mm[0, 2]
    assert abs(edge) == pytest.approx(2.0, abs=0.01)


def test_a_thin_spot_takes_room_only_where_it_is() -> None:
    spot = ThinSpot(side_share=-0.8, labial=True, height_share=0.3, radius_mm=0.9, room_mm=0.35)
    plain, spotted = Rooms(), Rooms(thin_spots=(spot,))
    tooth, sizes = Tooth("11"), usual_sizes(Tooth("11"))
    before = generate_crown(tooth, sizes, rooms=plain, triangles=8000).core
    after = generate_crown(tooth, sizes, rooms=spotted, triangles=8000).core
    change = np.linalg.norm(before.vertices_mm - after.vertices_mm, axis=1)
    area = float(before.vertex_areas_mm2[change > 0.2].sum())
    assert 1.0 < area < 5.0
    contour = generate_contour(tooth, sizes, triangles=8000)
    assert nearest(contour, after.vertices_mm[change > 0.3]).distance_mm.min() == pytest.approx(
        0.35, abs=0.01
    )


def test_more_room_than_the_tooth_has_is_refused() -> None:
    with pytest.raises(BadCase, match="too thin"):
        generate_crown(
            Tooth("41"),
            usual_sizes(Tooth("41")),
            rooms=Rooms(labial_middle_mm=3.0, labial_cervical_mm=3.0, palatal_mm=3.0),
            triangles=3000,
        )


def test_a_room_of_nothing_is_refused() -> None:
    with pytest.raises(BadCase, match="palatal_mm"):
        Rooms(palatal_mm=0.0)


def test_small_teeth_get_less_room() -> None:
    small = usual_rooms(usual_sizes(Tooth("41")), front=True)
    assert small.labial_middle_mm < usual_rooms(usual_sizes(Tooth("11")), front=True).labial_middle_mm
