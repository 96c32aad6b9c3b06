"""Core stand-ins: inside the contour, the wanted room mid-crown, open at the margin."""

import numpy as np
import pytest
from tooth_meshes import ball, dundee, mandible, needs_shared

from firstbake.errors import BadCase
from firstbake.mesh import Surface, nearest, signed_distance
from firstbake.teeth import (
    Rooms,
    Tooth,
    core_stand_in,
    crown_cap,
    find_frame,
    generate_contour,
    usual_rooms,
    usual_sizes,
)


def rooms_at(contour: Surface, core: Surface, tooth: Tooth, *, share: float) -> tuple[float, float]:
    """Mean room at mid-face, labial and palatal, at a height share, mm."""
    frame = find_frame(tooth, contour=contour, core=core)
    local, height = frame.to_local(core.vertices_mm), frame.height_share(core.vertices_mm)
    band = (np.abs(local[:, 0]) < 0.8) & (np.abs(height - share) < 0.04)
    room = nearest(contour, core.vertices_mm).distance_mm
    return float(room[band & (local[:, 1] > 0)].mean()), float(room[band & (local[:, 1] < 0)].mean())


@pytest.mark.parametrize("number", ["11", "43"])
def test_an_open_contour_gets_a_core_with_the_wanted_room(number: str) -> None:
    tooth = Tooth(number)
    contour = generate_contour(tooth, usual_sizes(tooth), triangles=6000)
    core = core_stand_in(contour, tooth=tooth)
    wanted = usual_rooms(usual_sizes(tooth), front=True)
    labial, palatal = rooms_at(contour, core, tooth, share=0.45)
    assert labial == pytest.approx(wanted.labial_middle_mm, abs=0.1)
    assert palatal == pytest.approx(wanted.palatal_mm, abs=0.1)
    assert len(core.loops) == 1
    ring = core.vertices_mm[core.loops[0]]
    assert nearest(contour, ring).distance_mm.max() < 0.1
    assert 0.2 * contour.volume_mm3 < core.volume_mm3 < contour.volume_mm3


def test_a_molar_gets_the_room_over_its_table() -> None:
    tooth = Tooth("46")
    contour = generate_contour(tooth, usual_sizes(tooth), triangles=6000)
    core = core_stand_in(contour, tooth=tooth)
    room = nearest(contour, core.vertices_mm).distance_mm
    top = core.vertices_mm[:, 2] > core.bounds_mm[1, 2] - 1.0
    wanted = usual_rooms(usual_sizes(tooth), front=False)
    assert np.median(room[top]) == pytest.approx(wanted.edge_mm, abs=0.2)


def test_more_room_than_there_is_is_refused() -> None:
    tooth = Tooth("41")
    contour = generate_contour(tooth, usual_sizes(tooth), triangles=3000)
    rooms = Rooms(
        labial_cervical_mm=4.0,
        labial_middle_mm=4.0,
        labial_incisal_mm=4.0,
        palatal_mm=4.0,
        mesial_mm=4.0,
        distal_mm=4.0,
    )
    with pytest.raises(BadCase, match="no core"):
        core_stand_in(contour, tooth=tooth, rooms=rooms, step_mm=0.3)


def test_a_closed_contour_too_short_for_its_crown_is_refused() -> None:
    with pytest.raises(BadCase, match="too short"):
        crown_cap(ball(4.0), tooth=Tooth("11"))


@needs_shared
@pytest.mark.parametrize("number", ["11", "12", "13"])
def test_upper_front_teeth_with_roots(number: str) -> None:
    tooth, contour = Tooth(number), dundee(number)
    core = core_stand_in(contour, tooth=tooth, step_mm=0.25)
    assert signed_distance(contour, core.vertices_mm).distance_mm.max() < 0
    wanted = usual_rooms(usual_sizes(tooth), front=True)
    labial, palatal = rooms_at(contour, core, tooth, share=0.5)
    assert labial == pytest.approx(wanted.labial_middle_mm, abs=0.12)
    assert palatal == pytest.approx(wanted.palatal_mm, abs=0.12)
    height = usual_sizes(tooth).crown_height_mm
    assert 0.6 * height < np.ptp(core.vertices_mm[:, 2]) < height
    assert len(core.loops) == 1


@needs_shared
def test_an_open_real_incisor_gets_a_core() -> None:
    contour = mandible("31", "derived_target_outer_open")
    core = core_stand_in(contour, tooth=Tooth("31"), step_mm=0.25)
    assert len(core.loops) == 1
    assert 0 < core.volume_mm3 < contour.volume_mm3
