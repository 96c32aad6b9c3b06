"""Layers fill the room exactly, in thickness and in volume, and say what was left out."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from layering_shapes import case_of, even, frame_of, powder, room_between, sphere
from measured_teeth import Measured

from firstbake.errors import BadCase
from firstbake.layering import Layers, layer_up
from firstbake.layering.amounts import closed_on, counted_mm3
from firstbake.layering.columns import Wishes, split
from firstbake.layering.field import prepare_cut_back
from firstbake.mesh import volume_between
from firstbake.room import Room

COLUMNS = 12


def lengths(low: float, high: float) -> st.SearchStrategy[np.ndarray]:
    return arrays(np.float64, COLUMNS, elements=st.floats(low, high))


@given(
    room=lengths(-0.2, 3.0),
    enamel=lengths(0.0, 3.0),
    liner=lengths(0.0, 0.3),
    opaque=lengths(0.0, 0.4),
    opaque_dentine=lengths(0.0, 0.6),
    transparent=lengths(0.0, 0.5),
    veneered=arrays(np.bool_, COLUMNS),
)
def test_columns_add_up_to_the_room_whatever_is_wished(
    room: np.ndarray,
    enamel: np.ndarray,
    liner: np.ndarray,
    opaque: np.ndarray,
    opaque_dentine: np.ndarray,
    transparent: np.ndarray,
    veneered: np.ndarray,
) -> None:
    parts = split(room, enamel, Wishes((liner, opaque), opaque_dentine, transparent), veneered=veneered)
    total = sum(parts.outward_mm)
    assert np.abs(total - np.where(veneered, np.maximum(room, 0), 0)).max() < 1e-12
    assert min(layer.min() for layer in parts.outward_mm) >= 0


def check_filled(layers: Layers, room: Room) -> None:
    total = sum(layer.thickness_mm for layer in layers.layers)
    wanted = np.maximum(room.thickness_mm, 0)
    assert np.abs(total - wanted)[room.veneered].max() < 1e-12
    assert np.all(total[~room.veneered] == 0)
    assert sum(layer.volume_mm3 for layer in layers.layers) == pytest.approx(room.volume_mm3, rel=1e-12)
    assert all(layer.volume_mm3 >= 0 for layer in layers.layers)
    assert [layer.order for layer in layers.layers] == list(range(1, len(layers.layers) + 1))


@pytest.fixture(scope="module")
def two_powders(incisor: Measured) -> Layers:
    return layer_up(incisor.case, incisor.frame, incisor.room)


def test_two_powders_are_dentine_with_enamel_outside(incisor: Measured, two_powders: Layers) -> None:
    layers = two_powders
    check_filled(layers, incisor.room)
    assert [layer.powder.role for layer in layers.layers] == ["dentine", "enamel"]
    assert layers.cut_back is not None
    assert np.array_equal(layers.enamel_mm, layers.layers[1].thickness_mm)
    assert layers.notes == ()


def test_enamel_volume_is_that_between_contour_and_cut_back(incisor: Measured, two_powders: Layers) -> None:
    """The grid count against the divergence volume between the two meshes."""
    layers = two_powders
    assert layers.cut_back is not None
    meshed = volume_between(incisor.case.contour.surface, layers.cut_back)
    assert layers.layers[1].volume_mm3 == pytest.approx(meshed, rel=0.015)


def test_planted_thin_spot_is_reported_as_a_conflict(two_powders: Layers) -> None:
    assert len(two_powders.conflicts) == 1
    conflict = two_powders.conflicts[0]
    assert conflict.where == "distolabial, cervical third"
    assert conflict.worst_mm == pytest.approx(0.35, abs=0.01)
    assert conflict.depth_mm == pytest.approx(0.05, abs=0.01)
    assert len(conflict.choices) >= 4


def test_roomy_crown_has_no_conflict() -> None:
    contour, core = sphere(2.5, around=60), sphere(1.7, around=60)
    case = case_of(contour, core, "dentine", "enamel")
    assert layer_up(case, frame_of(half_mm=2.5), room_between(contour, core)).conflicts == ()


def test_one_powder_fills_everything(incisor: Measured) -> None:
    case = case_of(incisor.case.contour.surface, incisor.case.core.surface, "dentine")
    layers = layer_up(case, incisor.frame, incisor.room)
    check_filled(layers, incisor.room)
    assert len(layers.layers) == 1
    assert layers.cut_back is None
    assert not layers.enamel_mm.any()
    assert layers.conflicts == ()


def test_all_roles_stack_from_the_core_outward(incisor: Measured) -> None:
    roles = ("dentine", "enamel", "transparent", "liner", "opaque-dentine")
    case = case_of(incisor.case.contour.surface, incisor.case.core.surface, *roles)
    layers = layer_up(case, incisor.frame, incisor.room)
    check_filled(layers, incisor.room)
    by_role = {layer.powder.role: layer for layer in layers.layers}
    assert list(by_role) == ["liner", "opaque-dentine", "dentine", "enamel", "transparent"]
    share = incisor.frame.height_share(case.contour.surface.vertices_mm)
    roomy = incisor.room.veneered & (incisor.room.thickness_mm > 0.6)
    spare = incisor.room.veneered & (incisor.room.thickness_mm > 0.9)
    assert by_role["liner"].thickness_mm[roomy] == pytest.approx(0.1)
    assert by_role["transparent"].thickness_mm[share < 0.5].max() == 0
    assert by_role["transparent"].thickness_mm.max() > 0.1
    assert by_role["opaque-dentine"].thickness_mm[(share > 0.8) & spare].max() == 0
    both = by_role["enamel"].thickness_mm + by_role["transparent"].thickness_mm
    assert np.abs(layers.enamel_mm - both).max() < 1e-12


def test_metal_core_wants_opaque_and_zirconia_does_not(incisor: Measured) -> None:
    surfaces = incisor.case.contour.surface, incisor.case.core.surface
    on_metal = layer_up(
        case_of(*surfaces, "opaque", "dentine", material="metal"), incisor.frame, incisor.room
    )
    assert [layer.powder.role for layer in on_metal.layers] == ["opaque", "dentine"]
    assert np.median(on_metal.layers[0].thickness_mm) == pytest.approx(0.2)
    bare = layer_up(case_of(*surfaces, "dentine", material="metal"), incisor.frame, incisor.room)
    assert any("metal will show through" in note for note in bare.notes)
    on_zirconia = layer_up(case_of(*surfaces, "opaque", "dentine"), incisor.frame, incisor.room)
    assert [layer.powder.role for layer in on_zirconia.layers] == ["dentine"]
    assert any("demo-opaque is not used" in note for note in on_zirconia.notes)


def test_powders_that_are_not_used_are_named(incisor: Measured) -> None:
    spare = powder("dentine", name="second-dentine")
    case = case_of(
        incisor.case.contour.surface, incisor.case.core.surface, "dentine", spare, "transparent", "margin"
    )
    notes = layer_up(case, incisor.frame, incisor.room).notes
    for name in ("second-dentine", "demo-transparent", "demo-margin"):
        assert any(note.startswith(f"{name} is not used") for note in notes)


def test_a_case_without_dentine_is_refused(incisor: Measured) -> None:
    case = case_of(incisor.case.contour.surface, incisor.case.core.surface, "enamel")
    with pytest.raises(BadCase, match="no powder of the role dentine"):
        layer_up(case, incisor.frame, incisor.room)


def test_coats_clipped_for_want_of_room_are_reported() -> None:
    """0.12 mm of room for 0.2 mm opaque: the opaque gets what there is, and the notes say so."""
    contour, core = sphere(2.5, around=60), sphere(2.38, around=60)
    thick = powder("opaque", layer_mm=0.3)
    case = case_of(contour, core, thick, "dentine", "enamel", material="metal")
    room = room_between(contour, core)
    layers = layer_up(case, frame_of(half_mm=2.5), room)
    check_filled(layers, room)
    assert any("demo-opaque is thinner than its least" in note for note in layers.notes)
    assert len(layers.conflicts) == 1


def test_shell_volumes_match_their_closed_form() -> None:
    """Concentric shells, 4/3 pi (a^3 - b^3): liner 0.1, dentine to 4.5, enamel with 0.15 transparent."""
    contour, core = sphere(5.0), sphere(3.8)
    field = prepare_cut_back(contour, core, frame_of(), room=room_between(contour, core), step_mm=0.2)
    n = len(contour.vertices_mm)
    level = field.levels_mm(even(0.5))[field.active]
    wishes = Wishes((np.full(n, 0.1),), np.full(n, 0.2), np.full(n, 0.15))
    counted = counted_mm3(field, level, wishes)
    radii = np.array([3.8, 3.9, 4.1, 4.5, 4.85, 5.0])
    assert counted == pytest.approx(4 / 3 * np.pi * np.diff(radii**3), rel=0.01)


def test_a_count_that_misses_the_room_is_closed_and_said() -> None:
    counted = np.array([10.0, 60.0, 30.0])
    volumes, note = closed_on(101.0, counted, dentine=1)
    assert volumes == pytest.approx([10.0, 61.0, 30.0])
    assert note == ""
    volumes, note = closed_on(80.0, counted, dentine=1)
    assert volumes == pytest.approx([10.0, 40.0, 30.0])
    assert "dentine took up the difference of 20.0 mm³" in note
    volumes, note = closed_on(45.0, counted, dentine=1)
    assert volumes == pytest.approx([4.5, 27.0, 13.5])
    assert "scaled by 0.45" in note


def test_real_ragged_tooth_is_filled(real_incisor: Measured) -> None:
    layers = layer_up(real_incisor.case, real_incisor.frame, real_incisor.room)
    check_filled(layers, real_incisor.room)
    assert layers.cut_back is not None
    meshed = volume_between(real_incisor.case.contour.surface, layers.cut_back)
    assert layers.layers[1].volume_mm3 == pytest.approx(meshed, rel=0.02)
