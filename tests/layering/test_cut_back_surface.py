"""The cut-back lies where it must: closed forms on spheres and slabs, the prescription on crowns."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from layering_shapes import block, even, frame_of, room_between, sphere
from measured_teeth import Measured

from firstbake.errors import BadCase, BadMesh
from firstbake.layering import CutBack, prepare_cut_back, usual_cut_back
from firstbake.layering.blend import greater_of, lesser_of, smooth_step
from firstbake.layering.trim import trimmed
from firstbake.mesh import nearest, signed_distance


def test_even_enamel_on_a_sphere_leaves_a_sphere() -> None:
    """Closed form: radius 5 mm less 0.5 mm, volume 4/3 pi 4.5^3."""
    contour, core = sphere(5.0), sphere(3.8, around=90)
    field = prepare_cut_back(contour, core, frame_of(), room=room_between(contour, core), step_mm=0.25)
    surface = field.export(even(0.5))
    radius = np.linalg.norm(surface.vertices_mm, axis=1)
    sag = 5.0 * (1 - np.cos(np.pi / 120)) * 2  # a flat facet lies this much inside the sphere at most
    assert surface.is_closed
    assert np.all(radius < 4.5 + 1e-6)
    assert np.all(radius > 4.5 - sag - 1e-6)
    assert surface.volume_mm3 == pytest.approx(
        4 / 3 * np.pi * 4.5**3, rel=4e-3
    )  # facets of 0.25 mm and of the contour


def test_true_thickness_is_the_prescribed_one_against_an_independent_query() -> None:
    contour, core = sphere(5.0), sphere(3.8, around=90)
    field = prepare_cut_back(contour, core, frame_of(), room=room_between(contour, core), step_mm=0.25)
    surface = field.export(even(0.5))
    off_um = 1000 * np.abs(nearest(contour, surface.vertices_mm).distance_mm - 0.5)
    assert np.percentile(off_um, 95) < 2.0
    assert off_um.max() < 5.0


def test_even_enamel_on_a_slab_leaves_a_plane() -> None:
    """Closed form: top at 4 mm, enamel 0.6 mm, dentine at 3.4 mm away from the sides."""
    contour, core = block((-6, -6, -4), (6, 6, 4)), block((-4, -4, -2), (4, 4, 2))
    field = prepare_cut_back(contour, core, frame_of(half_mm=6.0), room=room_between(contour, core))
    points = field.export(even(0.6)).vertices_mm
    middle = points[(np.abs(points[:, :2]).max(axis=1) < 4) & (points[:, 2] > 0)]
    assert len(middle) > 500
    assert np.abs(middle[:, 2] - 3.4).max() < 1e-3


def test_dentine_keeps_its_least_over_an_eccentric_core() -> None:
    """The core comes within 0.5 mm of the contour: enamel gives way, dentine keeps 0.2 mm."""
    contour, core = sphere(5.0), sphere(3.8, around=90, centre=(0.7, 0, 0))
    rules = even(0.5)
    field = prepare_cut_back(contour, core, frame_of(), room=room_between(contour, core))
    surface = field.export(rules)
    cover = signed_distance(core, surface.vertices_mm).distance_mm
    enamel = -signed_distance(contour, surface.vertices_mm).distance_mm
    assert cover.min() > 0.2 - 0.002
    assert enamel.min() > 0.1 - 0.002
    assert enamel.min() < 0.35, "the enamel had to give way somewhere, or the case tests nothing"
    assert enamel.max() == pytest.approx(0.5, abs=0.002)


def test_short_room_is_shared_in_proportion() -> None:
    """Room 0.30 for 0.15 + 0.25: enamel 0.30 x 0.15 / 0.40 = 0.1125 mm."""
    contour, core = sphere(5.0), sphere(4.7)
    rules = even(0.5, least_enamel_mm=0.15, least_dentine_mm=0.25)
    field = prepare_cut_back(contour, core, frame_of(), room=room_between(contour, core))
    radius = np.linalg.norm(field.export(rules).vertices_mm, axis=1)
    assert np.median(radius) == pytest.approx(5.0 - 0.1125, abs=0.008)


def test_generated_incisor_meets_its_prescription(incisor: Measured) -> None:
    """geometry: 95 % within 2 um outside blends, inside the contour, least dentine over the core."""
    contour, core = incisor.case.contour.surface, incisor.case.core.surface
    rules = usual_cut_back(incisor.case.tooth, incisor.case.limits)
    field = prepare_cut_back(contour, core, incisor.frame, room=incisor.room, step_mm=0.15)
    surface = field.export(rules)
    check = field.check(surface, rules)
    off_um = 1000 * np.abs(check.thickness_mm - check.wanted_mm)[check.alone]
    assert check.alone.mean() > 0.4
    assert np.percentile(off_um, 95) < 2.0
    assert np.percentile(off_um, 99) < 10.0
    assert check.thickness_mm.min() > -1e-5
    assert check.cover_mm.min() > -2e-3
    assert len(surface.loops) == 1, "one rim at the margin and no holes"
    away = nearest(contour, surface.vertices_mm)
    corners = contour.faces[away.face]
    roomy = (incisor.room.thickness_mm > 0.5).astype(float)[corners].min(axis=1) > 0
    inner = incisor.room.margin_mm[corners].min(axis=1) > rules.fade_mm
    assert check.cover_mm[roomy & inner].min() > rules.least_dentine_mm - 0.02


def test_preview_follows_the_export(incisor: Measured) -> None:
    contour, core = incisor.case.contour.surface, incisor.case.core.surface
    rules = usual_cut_back(incisor.case.tooth, incisor.case.limits)
    field = prepare_cut_back(contour, core, incisor.frame, room=incisor.room)
    away = nearest(field.export(rules), field.recompute(rules).vertices_mm).distance_mm
    assert np.percentile(away, 95) < 0.01


def test_rules_can_move_without_new_distances(incisor: Measured) -> None:
    """More enamel, less dentine inside: the volume under the cut-back falls as the slider rises."""
    contour, core = incisor.case.contour.surface, incisor.case.core.surface
    field = prepare_cut_back(contour, core, incisor.frame, room=incisor.room, step_mm=0.3)
    usual = usual_cut_back(incisor.case.tooth, incisor.case.limits)
    thicker = CutBack(**{**vars(usual), "middle_mm": usual.middle_mm + 0.2})
    assert (field.levels_mm(thicker) >= field.levels_mm(usual) - 1e-9).all()
    assert (field.levels_mm(thicker) > field.levels_mm(usual) + 0.05).any()
    assert np.array_equal(field.recompute(usual).vertices_mm, field.recompute(usual).vertices_mm)


def test_ragged_margins_end_cleanly(real_incisor: Measured) -> None:
    contour, core = real_incisor.case.contour.surface, real_incisor.case.core.surface
    rules = usual_cut_back(real_incisor.case.tooth, real_incisor.case.limits)
    field = prepare_cut_back(contour, core, real_incisor.frame, room=real_incisor.room, step_mm=0.15)
    surface = field.export(rules)
    check = field.check(surface, rules)
    off_um = 1000 * np.abs(check.thickness_mm - check.wanted_mm)[check.alone]
    assert len(surface.loops) == 1
    assert np.percentile(off_um, 95) < 2.0
    assert check.thickness_mm.min() > -1e-5
    assert check.cover_mm.min() > -2e-3


def test_trimming_a_sphere_leaves_the_cap() -> None:
    """Closed form: the cap above z = 2 of a sphere of 5 mm has 2 pi 5 (5 - 2) mm2."""
    ball = sphere(5.0, around=200)
    cap = trimmed(ball, ball.vertices_mm[:, 2] - 2.0)
    assert cap.area_mm2 == pytest.approx(2 * np.pi * 5 * 3, rel=1e-3)
    assert len(cap.loops) == 1
    assert np.abs(cap.vertices_mm[cap.loops[0], 2] - 2.0).max() < 1e-9


def test_trimming_everything_away_is_refused() -> None:
    ball = sphere(1.0, around=20)
    with pytest.raises(BadMesh, match="nothing to keep"):
        trimmed(ball, np.full(len(ball.vertices_mm), -1.0))


def test_impossible_rules_are_refused() -> None:
    with pytest.raises(BadCase, match="edge_mm"):
        CutBack(**{**vars(even(0.5)), "edge_mm": -0.1})
    with pytest.raises(BadCase, match="room_share"):
        CutBack(**{**vars(even(0.5)), "room_share": 1.5})
    with pytest.raises(BadCase, match="middle_mm"):
        CutBack(**{**vars(even(0.5)), "middle_mm": float("nan")})


@given(
    a=st.floats(-5, 5),
    b=st.floats(-5, 5),
    reach=st.floats(0.01, 2),
)
def test_seams_stay_within_a_sixth_of_their_reach(a: float, b: float, reach: float) -> None:
    left, right = np.array([a]), np.array([b])
    top = greater_of(left, right, reach)[0]
    assert max(a, b) - 1e-12 <= top <= max(a, b) + reach / 6 + 1e-12
    assert lesser_of(left, right, reach)[0] == pytest.approx(-greater_of(-left, -right, reach)[0])
    assert greater_of(right, left, reach)[0] == pytest.approx(top)
    if abs(a - b) > reach:
        assert top == max(a, b)


@settings(max_examples=30)
@given(st.lists(st.floats(-1, 2), min_size=2, max_size=20))
def test_smooth_step_rises_from_0_to_1(shares: list[float]) -> None:
    steps = smooth_step(np.sort(np.array(shares)))
    assert (np.diff(steps) >= -1e-12).all()
    assert ((steps >= 0) & (steps <= 1)).all()
    assert smooth_step(np.array([0.5]))[0] == pytest.approx(0.5)


def test_root_below_the_margin_is_not_cut_back() -> None:
    """Contour and core of one piece with a root: the cut-back stays on the veneered half."""
    contour, core = sphere(3.0, around=80), sphere(2.0, around=60)
    room = room_between(contour, core)
    crown = contour.vertices_mm[:, 2] > 0
    margin = np.abs(contour.vertices_mm[:, 2])
    field = prepare_cut_back(
        contour, core, frame_of(half_mm=3.0), room=replace(room, veneered=crown, margin_mm=margin)
    )
    surface = field.export(even(0.4))
    assert surface.vertices_mm[:, 2].min() > -0.05
    assert len(surface.loops) == 1
    well_above = surface.vertices_mm[surface.vertices_mm[:, 2] > 0.5]
    assert np.linalg.norm(well_above, axis=1) == pytest.approx(2.6, abs=0.005)
    spread = field.spread(np.ones(len(field.kept)))
    assert not spread[~crown].any()
