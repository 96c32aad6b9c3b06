"""A generated incisor, a generated molar and a real tooth get a sound green shape."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from conftest import Made, made, powder

from firstbake.green import Calliper, Green, column_green, measure_callipers, mix_of
from firstbake.layering import layer_up
from firstbake.mesh import Surface, signed_distance, volume_between
from firstbake.room import measure_room
from firstbake.teeth import Landmarks, Tooth, find_frame, generate_crown, usual_sizes

SHARED = Path(__file__).parents[2] / ".." / "shared" / "meshes" / "gpl-3.0_openmandible"


def planned(
    contour: Surface, core: Surface, number: str, *, landmarks: Landmarks | None = None, two: bool = True
) -> Made:
    kit = (powder("dentine", green=0.60), powder("enamel", green=0.58))[: 1 + two]
    m = made(contour, core, kit, shares=(0.6, 0.4) if two else (1.0,), grind_off=0.05, number=number)
    landmarks = landmarks or Landmarks()
    frame = find_frame(m.case.tooth, contour=contour, core=core, neighbours=(), landmarks=landmarks)
    room = measure_room(m.case, frame)
    return replace(m, frame=frame, room=room, layers=layer_up(m.case, frame, room))


@pytest.fixture(scope="module", params=["11", "46"])
def crown(request) -> tuple[Made, Green, tuple[Calliper, ...]]:
    tooth = Tooth(request.param)
    grown = generate_crown(tooth, usual_sizes(tooth), triangles=8000)
    two = request.param == "11"  # the molar is a plan with one powder
    m = planned(grown.contour, grown.core, request.param, landmarks=grown.landmarks, two=two)
    green = column_green(m.case, m.room, layers=m.layers)
    return m, green, measure_callipers(m.case, m.frame, layers=m.layers, green=green)


def test_no_face_of_the_green_contour_is_turned_over(crown):
    m, green, _ = crown
    assert green.folded_faces == 0
    turn = np.einsum("ij,ij->i", m.case.contour.surface.face_normals, green.contour.face_normals)
    assert turn.min() > 0


def test_mass_of_the_whole_crown_is_closed(crown):
    m, green, _ = crown
    assert volume_between(green.contour, m.case.core.surface) == pytest.approx(green.volume_mm3, rel=1e-9)
    assert 0.9 < green.mass_closure < 1.25
    solid = sum(
        green.powder_volume_mm3[p.name] * p.green_relative_density.value * 2.45 for p in m.case.powders
    )
    assert solid * 1e-3 == pytest.approx(sum(x.placed_g for x in mix_of(m.case, m.layers)), rel=1e-9)


def test_overbuild_lies_between_free_and_film_growth(crown):
    m, green, _ = crown
    deep = m.room.thickness_mm > 0.6
    grown = green.overbuild_mm[deep] / (m.room.thickness_mm[deep] + 0.05)
    assert (
        np.percentile(grown, 1) > 0.98 / 0.60 - 1 - 0.5
    )  # not below free growth of 0.17 by more than rounding
    assert np.percentile(grown, 99) < 1.0
    margin = np.concatenate(m.case.contour.surface.loops)
    assert green.overbuild_mm[margin].max() < 0.05


def test_green_dentine_stays_under_the_green_contour_and_has_its_mass(crown):
    m, green, _ = crown
    if m.layers.cut_back is None:
        assert green.dentine_cut is None
        return
    assert signed_distance(green.contour, green.dentine_cut.vertices_mm).distance_mm.max() < 1e-6
    assert np.array_equal(green.dentine_cut.faces, m.layers.cut_back.faces)
    assert volume_between(green.dentine_full, m.case.core.surface) < green.volume_mm3
    dentine = volume_between(green.dentine_cut, m.case.core.surface)
    assert dentine == pytest.approx(green.powder_volume_mm3["demo-dentine"], rel=0.05)


def test_every_length_grows_and_has_a_doubt(crown):
    _, _, table = crown
    assert len(table) >= 8
    for row in table:
        assert row.green_mm > row.fired_mm, row
        assert 0 < row.doubt_mm < 0.3, row
    assert len({row.name for row in table}) == len(table)


def real_surface(name: str) -> Surface:
    raw = np.frombuffer((SHARED / name).read_bytes()[84:], dtype=np.dtype("(3,)<f4, (3,3)<f4, <u2"))
    points, faces = np.unique(raw["f1"].reshape(-1, 3).astype(float), axis=0, return_inverse=True)
    return Surface(points, faces.reshape(-1, 3))


@pytest.mark.skipif(not SHARED.exists(), reason="the shared tooth meshes are not beside the repository")
def test_a_real_lower_incisor_closes_its_mass():
    contour = real_surface("om_31_derived_target_outer_open.stl")
    core = real_surface("om_31_derived_coping_proxy_open.stl")
    m = planned(contour, core, "31", two=False)
    green = column_green(m.case, m.room, layers=m.layers)
    assert green.folded_faces <= 0.001 * len(contour.faces)
    assert 0.9 < green.mass_closure < 1.25
    assert green.volume_mm3 / m.room.volume_mm3 == pytest.approx(1.67, abs=0.25)
