"""The demo crown: contacts, opposing teeth and the planted fault."""

from functools import cache

import numpy as np
import pytest
from tooth_meshes import ball

from firstbake.errors import BadSum
from firstbake.mesh import nearest
from firstbake.teeth import DemoCrown, demo_crown, find_frame, place_in_words, signed_gap_mm, slid_to


@cache
def demo() -> DemoCrown:
    return demo_crown(triangles=10_000)


def test_sizes_are_the_invented_ones() -> None:
    assert np.ptp(demo().contour.bounds_mm, axis=0) == pytest.approx([8.6, 7.2, 10.8], abs=0.01)
    edge = demo().core.bounds_mm[0, 2] - demo().contour.bounds_mm[0, 2]
    assert edge == pytest.approx(2.0, abs=0.01)


def test_contacts_and_clearance_are_as_planted() -> None:
    assert signed_gap_mm(demo().contour, demo().mesial) == pytest.approx(0.02, abs=1e-4)
    assert signed_gap_mm(demo().contour, demo().distal) == pytest.approx(-0.02, abs=1e-4)
    assert signed_gap_mm(demo().contour, demo().opposing) == pytest.approx(0.3, abs=1e-4)


def test_neighbours_stand_on_their_sides() -> None:
    middle = demo().contour.bounds_mm.mean(axis=0)[0]
    assert demo().mesial.bounds_mm.mean(axis=0)[0] > middle > demo().distal.bounds_mm.mean(axis=0)[0]


def test_the_planted_fault_is_distolabial_in_the_cervical_third() -> None:
    made = demo()
    frame = find_frame(made.tooth, contour=made.contour, core=made.core, landmarks=made.landmarks)
    room = nearest(made.core, made.contour.vertices_mm).distance_mm
    local = frame.to_local(made.contour.vertices_mm)
    thin = (room < 0.45) & (local[:, 2] - frame.margin_height_mm(local) > 1.0)
    area = float(made.contour.vertex_areas_mm2[thin].sum())
    assert 2.0 <= area <= 4.0
    assert room[thin].min() == pytest.approx(0.35, abs=0.02)
    centre = np.average(made.contour.vertices_mm[thin], axis=0, weights=made.contour.vertex_areas_mm2[thin])
    assert place_in_words(frame, centre) == "distolabial, cervical third"


@pytest.mark.parametrize("gap_mm", [0.5, 0.0, -0.05])
def test_two_balls_slide_to_the_wanted_gap(gap_mm: float) -> None:
    fixed, moving = ball(4.0), ball(3.0)
    placed = slid_to(moving, fixed, toward=np.array([1.0, 0.2, 0.1]), gap_mm=gap_mm)
    assert signed_gap_mm(placed, fixed) == pytest.approx(gap_mm, abs=1e-4)
    centres = np.linalg.norm(placed.vertices_mm.mean(axis=0) - fixed.vertices_mm.mean(axis=0))
    assert centres == pytest.approx(7.0 + gap_mm, abs=0.03)  # sum of the radii; facets of 0.4 mm


def test_teeth_that_pass_each_other_are_refused() -> None:
    aside = ball(2.0).moved(ball(2.0).vertices_mm + np.array([0.0, 30.0, 0.0]))
    with pytest.raises(BadSum, match="do not face"):
        slid_to(aside, ball(2.0), toward=np.array([1.0, 0.0, 0.0]), gap_mm=0.1)
