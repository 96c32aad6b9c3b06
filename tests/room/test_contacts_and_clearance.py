"""Contacts and clearance against the closed forms of two spheres."""

import numpy as np
import pytest
from room_shapes import case_of, cup, joined, sphere, upright

from firstbake.mesh import Surface
from firstbake.room import Contact, measure_room, neighbour_bodies

OVERLAP = {"overlapping": -0.050, "touching": 0.0, "apart": 0.030}


def area_nearer_than_mm2(gap_mm: float, tolerance_mm: float) -> float:
    """Cap of the 5 mm sphere (at the origin) nearer than the tolerance to the 4 mm one, closed form.

    A point at polar angle a lies sqrt(25 + D² - 10 D cos a) from the other centre, D = 9 + gap; the cap's
    area is 2 pi 25 (1 - cos a).
    """
    apart, reach = 9.0 + gap_mm, 4.0 + tolerance_mm
    cosine = (25.0 + apart**2 - reach**2) / (10.0 * apart)
    return 50.0 * np.pi * max(0.0, 1.0 - cosine)


def lens_mm3(gap_mm: float) -> float:
    """Lens of two overlapping spheres: pi (R + r - d)² (d² + 2 d (R + r) - 3 (R - r)²) / 12 d (textbook)."""
    d = 9.0 + gap_mm
    return float(np.pi * (9.0 - d) ** 2 * (d * d + 18.0 * d - 3.0) / (12.0 * d))


def turned_to_x(surface: Surface) -> Surface:
    """Poles along x, so that vertices meet on the line between the centres only roughly."""
    x, y, z = surface.vertices_mm.T
    return Surface(np.column_stack([z, x, y]), surface.faces)


def contact_with(gap_mm: float, *, rings: int) -> Contact:
    neighbour = sphere(4.0, rings=rings, centre=(9.0 + gap_mm, 0, 0))
    case = case_of(sphere(5.0, rings=rings), sphere(4.0, rings=12), neighbours=(neighbour,))
    (contact,) = measure_room(case, upright()).contacts
    return contact


@pytest.mark.parametrize("rings", [50, 80])  # 10,000 and 25,000 triangles each
@pytest.mark.parametrize("state", list(OVERLAP))
def test_the_gap_of_two_spheres_is_right_within_a_micrometre(state: str, rings: int) -> None:
    gap = OVERLAP[state]
    contact = contact_with(gap, rings=rings)
    assert contact.gap_mm == pytest.approx(gap, abs=1e-3)
    assert contact.side == "mesial"
    assert contact.at_mm == pytest.approx([5.0, 0, 0], abs=0.1)
    assert area_nearer_than_mm2(-0.05, 0.02) == pytest.approx(0.979, abs=2e-3)  # figure of the reference
    wanted = area_nearer_than_mm2(gap, 0.02)
    assert contact.area_mm2[20] == pytest.approx(wanted, rel=0.03, abs=1e-9)
    assert contact.area_mm2[50] == pytest.approx(area_nearer_than_mm2(gap, 0.05), rel=0.03)
    assert contact.area_mm2[0] <= contact.area_mm2[20] <= contact.area_mm2[50]
    assert (contact.overlap_mm3 > 0) == (gap < 0)


def test_the_overlap_of_two_spheres_is_their_lens() -> None:
    assert lens_mm3(-0.05) == pytest.approx(0.0174, abs=1e-4)  # figure of the reference
    # the facets of about 80,000 triangles take a few micrometres of the 50 away
    assert contact_with(-0.05, rings=142).overlap_mm3 == pytest.approx(0.0174, rel=0.03)


def test_a_far_neighbour_has_a_gap_and_no_area() -> None:
    contact = contact_with(6.0, rings=30)
    assert contact.gap_mm == pytest.approx(6.0, abs=0.02)
    assert contact.area_mm2 == {0: 0.0, 20: 0.0, 50: 0.0}
    assert contact.overlap_mm3 == 0.0


def test_the_gap_is_seen_from_whichever_surface_has_the_vertex() -> None:
    # a wall of two triangles has no vertex near the contact; a fine point has one near a coarse contour
    wall = Surface(
        np.array([[5.2, -20, -20], [5.2, 20, -20], [5.2, 20, 20], [5.2, -20, 20.0]]),
        np.array([[0, 2, 1], [0, 3, 2]]),
    )
    spike = Surface(
        np.array([[5.1, 0.3, 0.2], [8, 1, 0], [8, -1, 1], [8, -1, -1.0]]),
        np.array([[0, 2, 1], [0, 3, 2], [0, 1, 3], [1, 2, 3]]),
    )
    contour, core = sphere(5.0, rings=20), sphere(4.0, rings=20)
    room = measure_room(case_of(contour, core, neighbours=(wall, spike)), upright())
    assert room.contacts[0].gap_mm == pytest.approx(0.2, abs=0.02)
    assert 0.05 < room.contacts[1].gap_mm < 0.16
    assert room.contacts[1].gap_mm < np.linalg.norm(contour.vertices_mm - spike.vertices_mm[0], axis=1).min()


def test_a_row_gives_one_contact_a_side_and_leaves_the_tooth_itself_out() -> None:
    itself = sphere(5.02, rings=24)
    row = joined(*(sphere(4.0, rings=20, centre=(x, 0, 0)) for x in (-18.0, -9.1, 9.2, 17.5)), itself)
    case = case_of(sphere(5.0, rings=24), sphere(4.0, rings=24), neighbours=(row,))
    room = measure_room(case, upright())
    assert [contact.side for contact in room.contacts] == ["mesial", "distal"]
    assert sorted(round(float(b.vertices_mm[:, 0].mean()), 1) for b in neighbour_bodies(case)) == [-9.1, 9.2]
    assert room.contacts[0].gap_mm == pytest.approx(0.2, abs=0.03)
    assert room.contacts[1].gap_mm == pytest.approx(0.1, abs=0.03)
    assert any("neighbour-0.stl holds the tooth itself" in note for note in room.notes)


def test_a_stump_in_the_row_is_left_out_too() -> None:
    row = joined(sphere(3.5, rings=20), sphere(4.0, rings=20, centre=(9.2, 0, 0)))
    room = measure_room(case_of(sphere(5.0, rings=24), sphere(4.0, rings=24), neighbours=(row,)), upright())
    assert [contact.side for contact in room.contacts] == ["mesial"]
    assert room.contacts[0].gap_mm == pytest.approx(0.2, abs=0.03)


def test_a_file_with_nothing_but_the_tooth_says_so() -> None:
    room = measure_room(
        case_of(sphere(5.0, rings=24), sphere(4.0, rings=24), neighbours=(sphere(5.0, rings=24),)), upright()
    )
    assert room.contacts == ()
    assert "holds no neighbour" in " ".join(room.notes)


def test_mesial_follows_the_frame() -> None:
    neighbour = sphere(4.0, rings=20, centre=(9.2, 0, 0))
    case = case_of(sphere(5.0, rings=20), sphere(4.0, rings=20), neighbours=(neighbour,), tooth="21")
    frame = upright("21")
    turned = type(frame)(**{**vars(frame), "axes": np.diag([-1.0, 1.0, 1.0])})
    assert measure_room(case, turned).contacts[0].side == "distal"


def test_only_porcelain_counts_for_a_contact() -> None:
    # a long closed contour over a short open core: its lower half is root, and only that is near
    root_neighbour = sphere(2.0, rings=30, centre=(6.6, 0, -2.2))
    case = case_of(sphere(5.0, rings=40), cup(4.0, rings=40), neighbours=(root_neighbour,))
    room = measure_room(case, upright())
    assert not room.veneered.all()
    bare = float((np.linalg.norm(case.contour.surface.vertices_mm - [6.6, 0, -2.2], axis=1) - 2.0).min())
    assert room.contacts[0].gap_mm > bare + 0.05


@pytest.mark.parametrize("gap", [0.8, 0.0, -0.3])
def test_clearance_is_the_signed_distance_to_the_bite(gap: float) -> None:
    opposing = sphere(6.0, rings=50, centre=(0, 0, 11.0 + gap))
    room = measure_room(
        case_of(sphere(5.0, rings=50), sphere(4.0, rings=50), opposing=(opposing,)), upright()
    )
    (clearance,) = room.clearance
    assert clearance.least_mm == pytest.approx(gap, abs=2e-3)
    assert room.least_clearance_mm == clearance.least_mm
    assert clearance.opposing == "opposing-0.stl"
    assert clearance.where
    assert clearance.at_mm == pytest.approx([0, 0, 5.0], abs=0.2)
