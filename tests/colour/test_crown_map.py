"""The whole crown's colour, and whether the stump shows: on the block of test_zones, thicknesses known."""

from dataclasses import replace

import numpy as np
import pytest
from invented_powders import optics_of
from test_zones import (
    BODY,
    CONTOUR,
    EVERYWHERE,
    METAL,
    SKIN,
    case_of,
    frame_of,
    layers_of,
    powder,
    room_of,
)

from firstbake.case import Case, Target
from firstbake.colour import coat_of, colour_map, delta_e00, least_hiding_mm, predict_zones, srgb_from_lab
from firstbake.colour.ground import ORDINARY_STUMP, free_ground, ground_of
from firstbake.colour.recipe import Recipe, lab_of
from firstbake.errors import BadInput

DARK = (45.0, 8.0, 18.0)
LINER = powder("liner", "liner", "opaque mid")
LEAN = np.abs(CONTOUR.vertex_normals @ np.array([0.0, 1.0, 0.0]))
Z = CONTOUR.vertices_mm[:, 2]


def dark_case(*powders: object, stump: tuple[float, float, float] | None = DARK) -> Case:
    return case_of(tuple(powders), target=Target(None, None, None, stump))  # type: ignore[arg-type]


def recipe_of(case: Case, layers: list[tuple[object, float]], stump: object = None) -> Recipe:
    ground = ground_of(case, geometry="45/0", stump=stump)  # type: ignore[arg-type]
    return Recipe(tuple(p.optics for p, _ in layers), tuple(mm for _, mm in layers), ground, "45/0")  # type: ignore[attr-defined]


def test_over_the_core_each_vertex_has_the_colour_of_its_own_layers() -> None:
    case, layers = dark_case(BODY, SKIN), layers_of(BODY, SKIN, each_mm=(0.4, 0.2))
    made = np.linspace(0.2, 0.8, len(CONTOUR.vertices_mm))
    layers = replace(layers, layers=(replace(layers.layers[0], thickness_mm=made), layers.layers[1]))
    found = colour_map(case, frame_of(), room_of(EVERYWHERE), layers=layers)
    for vertex in np.flatnonzero(~found.free)[::500]:
        alone = lab_of(recipe_of(case, [(BODY, float(made[vertex])), (SKIN, 0.2)]))
        assert float(delta_e00(found.lab[vertex], alone)) < 1e-3
    assert found.srgb == pytest.approx(srgb_from_lab(found.lab), abs=1e-12)
    assert "without shading" in found.notes[0]


def test_the_free_edge_is_found_and_cut_through_vertex_by_vertex() -> None:
    case, layers = dark_case(BODY, SKIN), layers_of(BODY, SKIN, each_mm=(0.4, 0.2))
    found = colour_map(case, frame_of(), room_of(EVERYWHERE), layers=layers)
    facing = LEAN > 0.5
    # the core ends 6 mm up and 3.4 mm to each side; front and back see past it alike
    expected = facing & ((Z > 6.01) | ((np.abs(CONTOUR.vertices_mm[:, 0]) > 3.41) & (Z > 10 / 3 + 0.01)))
    across = np.abs(CONTOUR.vertices_mm[:, 0])
    inside = (across < 3.99) & (Z < 9.99)  # the rim itself has no back to meet
    inside &= (np.abs(across - 3.4) > 0.01) & (np.abs(Z - 6.0) > 0.01)  # the core's own rim: either way
    assert (found.free == expected)[inside].all()
    # with 1.4 mm dentine in the middle of 2.0 mm; the zone's own mean also holds the tip without dentine
    ground = free_ground()
    alone = Recipe((SKIN.optics, BODY.optics, SKIN.optics), (0.3, 1.4, 0.3), ground, "45/0")
    middle = found.free & (Z > 7) & (Z < 8.8) & (across < 3)
    assert delta_e00(found.lab[middle], lab_of(alone)).max() < 0.01
    assert (found.masking_delta_e00[found.free] == 0).all()
    assert np.median(found.doubt_delta_e00[found.free]) > np.median(found.doubt_delta_e00[~found.free])


def test_thin_clear_layers_over_a_free_back_are_marked_weak() -> None:
    clear = powder("clear", "transparent", "transparent clear")
    found = colour_map(
        dark_case(clear), frame_of(), room_of(EVERYWHERE), layers=layers_of(clear, each_mm=(0.6,))
    )
    assert found.weak[found.free].all()
    assert not found.weak[~found.free].any()


def test_a_molar_has_no_free_edge_and_bare_contour_has_no_colour() -> None:
    veneered = Z > 1.0
    case = case_of((BODY,), number="16")
    found = colour_map(case, frame_of("16"), room_of(veneered), layers=layers_of(BODY, each_mm=(0.8,)))
    assert not found.free.any()
    assert np.isnan(found.lab[~veneered]).all()
    assert np.isfinite(found.lab[veneered]).all()
    assert np.isfinite(found.doubt_delta_e00[veneered]).all()


def test_the_stump_shows_as_the_difference_to_an_ordinary_one() -> None:
    layers = [(BODY, 0.3), (SKIN, 0.2)]
    case = dark_case(BODY, SKIN)
    found = colour_map(
        case, frame_of(), room_of(EVERYWHERE), layers=layers_of(BODY, SKIN, each_mm=(0.3, 0.2))
    )
    over_core = ~found.free
    pair = [lab_of(recipe_of(case, layers, stump)) for stump in (DARK, ORDINARY_STUMP)]
    assert found.masking_delta_e00[over_core] == pytest.approx(float(delta_e00(*pair)), abs=1e-3)
    assert np.isnan(found.least_hiding_mm[over_core]).all()  # nothing to hide it with
    assert any("no liner, opaque or opaque dentine" in note for note in found.notes)
    for other in (case_of((BODY, SKIN), core=METAL), dark_case(BODY, SKIN, stump=None)):
        plain = colour_map(
            other, frame_of(), room_of(EVERYWHERE), layers=layers_of(BODY, SKIN, each_mm=(0.3, 0.2))
        )
        assert (plain.masking_delta_e00 == 0).all()


def test_the_least_hiding_coat_hides_and_a_little_less_does_not() -> None:
    case = dark_case(LINER, BODY, SKIN)
    assert coat_of(case) is LINER
    found = least_hiding_mm(case, ((BODY, 0.7), (SKIN, 0.3)), limit=0.4)
    assert found is not None
    assert 0.2 <= found < 0.4  # 0.2 mm is the thinnest that works, by its card

    def shows(mm: float) -> float:
        layers = [(LINER, mm), (BODY, 0.7 - mm), (SKIN, 0.3)]
        return float(delta_e00(*(lab_of(recipe_of(case, layers, s)) for s in (DARK, ORDINARY_STUMP))))

    assert shows(found) <= 0.4
    thin = replace(LINER, least_mm=replace(LINER.least_mm, value=0.01))
    tight = least_hiding_mm(case, ((BODY, 0.7), (SKIN, 0.3)), coat=thin, limit=0.4)
    assert tight is not None
    assert shows(tight) == pytest.approx(0.4, abs=0.01)
    assert shows(tight - 0.01) > 0.4


def test_too_little_room_cannot_be_hidden_and_an_ordinary_stump_needs_nothing() -> None:
    case = dark_case(LINER, BODY, SKIN)
    assert least_hiding_mm(case, ((BODY, 0.3), (SKIN, 0.15))) is None  # both at their least already
    ordinary = dark_case(LINER, BODY, SKIN, stump=ORDINARY_STUMP)
    assert least_hiding_mm(ordinary, ((BODY, 0.3), (SKIN, 0.15))) == 0.0
    with pytest.raises(BadInput, match="no liner"):
        least_hiding_mm(dark_case(BODY, SKIN), ((BODY, 0.3), (SKIN, 0.15)))


def test_a_zone_carries_its_spectrum_indices_bands_and_curve() -> None:
    case = dark_case(BODY, SKIN)
    neck, *_, edge = predict_zones(
        case, frame_of(), room_of(EVERYWHERE), layers=layers_of(BODY, SKIN, each_mm=(0.4, 0.2))
    )
    assert set(neck.illuminants) == {"A", "F11", "LED-B3"}
    assert neck.tp is not None and edge.tp is not None
    assert edge.tp > neck.tp > 0
    assert neck.masking_delta_e00 is not None
    assert neck.masking_delta_e00 > 0
    assert edge.masking_delta_e00 == 0.0
    assert neck.reflectance is not None and neck.reflectance_sd is not None and neck.lab_sd is not None
    assert (neck.reflectance_sd > 0).all()
    assert max(neck.lab_sd) < 4 * neck.doubt_delta_e00
    curve = neck.curve
    assert curve is not None
    at = np.array([np.interp(curve.planned_mm, curve.room_mm, curve.lab[:, k]) for k in range(3)])
    assert float(delta_e00(at, neck.lab)) < 0.05
    assert curve.planned_mm == pytest.approx(0.6)


def test_the_doubt_of_layering_is_that_of_sampled_layers() -> None:
    # 4000 drawn layerings inside one outer form, no other source: boundaries 0.05 mm, root mean square
    from firstbake.colour.doubt import _boundaries
    from firstbake.colour.paths import Paths, labs_at

    case = dark_case(BODY, SKIN)
    ground = ground_of(case, geometry="45/0")
    optics = (optics_of("dentine 4"), optics_of("dentine 1"), optics_of("enamel mid"))
    middle = Paths(optics, np.array([[0.4, 0.3, 0.3]]), ground, "45/0")
    step = np.random.default_rng(2).normal(0.0, 0.05, (4000, 2))
    drawn = np.column_stack([0.4 + step[:, 0], 0.3 - step[:, 0] + step[:, 1], 0.3 - step[:, 1]])
    sampled = delta_e00(labs_at(replace(middle, thickness_mm=np.clip(drawn, 0, None))), labs_at(middle))
    found = np.sqrt(
        sum(0.5 * delta_e00(labs_at(one), labs_at(middle)) ** 2 for one in _boundaries(middle, 0.0))
    )
    assert float(found[0]) == pytest.approx(float(np.sqrt(np.mean(sampled**2))), rel=0.1)
