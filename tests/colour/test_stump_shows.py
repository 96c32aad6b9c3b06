"""What a dark stump does to a thin neck, and what brings the colour back: direction, not amount."""

from dataclasses import replace

import numpy as np
import pytest
from invented_powders import optics_of

from firstbake.colour import delta_e00, difference_in_words
from firstbake.colour.doubt import doubt_of, model_error
from firstbake.colour.ground import Ground, free_ground, stump_end
from firstbake.colour.recipe import Recipe, lab_of, scattering_depth
from firstbake.powder import Optics, parametric_optics

GEOMETRY = "45/0"
ORDINARY, DARK = (72.0, 4.0, 21.0), (52.0, 6.0, 20.0)
# invented: a translucent white core and a strongly coloured liner
CORE = parametric_optics(12.0, 0.6, 0.03, 0.9, kg_per_mm=0.01, index=2.2, source="invented for this test")
LINER = parametric_optics(25.0, 0.5, 0.065, 10.6, kg_per_mm=0.0, source="invented for this test")


def recipe(
    layers: list[tuple[Optics, float]], stump: tuple[float, float, float], wall_mm: float = 0.5
) -> Recipe:
    ground = Ground(CORE, wall_mm, stump_end(stump, geometry=GEOMETRY), "core", stump, False)
    return Recipe(tuple(o for o, _ in layers), tuple(mm for _, mm in layers), ground, GEOMETRY)


NECK = [(optics_of("dentine 3"), 0.4), (optics_of("enamel mid"), 0.2)]


def with_liner(liner_mm: float) -> list[tuple[Optics, float]]:
    return [(LINER, liner_mm), (NECK[0][0], 0.4 - liner_mm), NECK[1]]


def test_a_dark_stump_makes_a_thin_neck_less_red_and_yellow_more_than_darker() -> None:
    # the eye calls it grey: in the worked cases of the trade reference red and yellow go, lightness hardly
    usual, dark = np.array(lab_of(recipe(NECK, ORDINARY))), np.array(lab_of(recipe(NECK, DARK)))
    lightness, red, yellow = dark - usual
    assert red < -0.4
    assert yellow < -0.4
    assert abs(lightness) < abs(red) + abs(yellow)
    told = difference_in_words(tuple(dark), tuple(usual))
    if float(delta_e00(dark, usual)) > 0.8:
        assert "less red" in told or "less yellow" in told


def test_a_thicker_liner_brings_red_and_yellow_back_step_by_step() -> None:
    steps = np.array([lab_of(recipe(with_liner(mm), DARK)) for mm in (0.0001, 0.05, 0.1, 0.15)])
    assert all(np.diff(steps[:, 1]) > 0.1)
    assert all(np.diff(steps[:, 2]) > 0.1)


@pytest.mark.parametrize("change", ["liner", "wall", "dentine"])
def test_more_of_anything_over_the_stump_hides_it_better(change: str) -> None:
    def gap(amount: float) -> float:
        if change == "liner":
            pair = [recipe(with_liner(amount), s) for s in (ORDINARY, DARK)]
        elif change == "wall":
            pair = [recipe(NECK, s, wall_mm=4 * amount) for s in (ORDINARY, DARK)]
        else:
            pair = [recipe([(NECK[0][0], 5 * amount), NECK[1]], s) for s in (ORDINARY, DARK)]
        return float(delta_e00(lab_of(pair[0]), lab_of(pair[1])))

    gaps = [gap(amount) for amount in (0.05, 0.1, 0.15, 0.2)]
    assert all(np.diff(gaps) < 0)


def test_a_stump_under_nothing_but_clear_layers_shows_its_own_colour() -> None:
    # index of dentine all the way up and no layer that does anything: the outer face put back over the stump
    clear = parametric_optics(0.0, 0.0, 0.0, 0.0, index=1.54, source="invented for this test")
    end = stump_end(DARK, geometry=GEOMETRY)
    ground = Ground(None, 0.0, replace(end, index=1.54), "stump", DARK, False)
    seen = lab_of(Recipe((clear,), (0.3,), ground, GEOMETRY))
    # the two weak steps in index, dentine to cement and back, stay in and darken it a little
    assert float(delta_e00(seen, DARK)) < 0.9
    assert seen[0] < DARK[0]


def test_a_free_edge_over_the_dark_mouth_is_not_black() -> None:
    # most light is turned back at the free face (0.596 of it at index 1.5), so the mouth matters little
    edge = ((optics_of("dentine 3"), 1.0), (optics_of("enamel mid"), 0.9))
    seen = [
        np.array(
            lab_of(
                Recipe(tuple(o for o, _ in edge), tuple(mm for _, mm in edge), free_ground(mouth), GEOMETRY)
            )
        )
        for mouth in (0.0, 0.05, 0.30)
    ]
    assert all(65 < lab[0] < 85 for lab in seen)
    assert seen[0][0] < seen[1][0] < seen[2][0]
    assert 0.1 < float(delta_e00(seen[1], seen[2])) < 3.0


def test_doubt_is_larger_for_thin_layers_a_guessed_stump_unmeasured_powders_and_calliper_sizes() -> None:
    plain = recipe(NECK, DARK)
    base = doubt_of(plain, free=False)
    assert 0.5 < base < 2.5
    guessed = replace(plain, ground=replace(plain.ground, assumed=True))
    assert doubt_of(guessed, free=False) > base
    assert doubt_of(plain, free=False, size_doubt_mm=0.15) > base
    measured = [
        (optics_of("dentine 3", status="measured"), 0.4),
        (optics_of("enamel mid", status="measured"), 0.2),
    ]
    assert doubt_of(recipe(measured, DARK), free=False) < base


def test_a_thin_liner_carries_the_layering_doubt() -> None:
    # 0.05 mm more or less of a strong thin layer moves the colour by more than the same of dentine
    assert doubt_of(recipe(with_liner(0.1), DARK), free=False) > doubt_of(recipe(NECK, DARK), free=False)


@pytest.mark.parametrize(("mm", "least", "most"), [((0.5, 1.2), 0.8, 1.6), ((0.0, 0.5), 4.0, 8.0)])
def test_the_model_error_grows_where_a_free_edge_is_thin_or_clear(
    mm: tuple[float, float], least: float, most: float
) -> None:
    edge = Recipe((optics_of("dentine 3"), optics_of("enamel light")), mm, free_ground(), GEOMETRY)
    assert scattering_depth(edge) == pytest.approx(2.9 * mm[0] + 1.15 * mm[1], rel=1e-9)
    assert least < model_error(edge, free=True) < most


def test_over_a_core_the_model_error_is_half_a_unit_for_ordinary_layers() -> None:
    assert model_error(recipe(NECK, DARK), free=False) == pytest.approx(0.5)
