"""Whole colours of invented powders: thick, over tiles, in a small crown, and what shines through."""

import numpy as np
import pytest
from invented_powders import BLACK_WHITE, NUMBERS, THICK, optics_of

from firstbake.colour import (
    LowerEnd,
    lab_from_reflectance,
    outer_face,
    reflectance_within,
    stack_of,
    thick_reflectance,
)
from firstbake.colour.ground import mouth_end

FACE = outer_face(1.5, "d/8 specular excluded")
BLACK, WHITE = 0.03, 0.87


def colour_of(names: list[str], thickness: list[float], end: LowerEnd) -> np.ndarray:
    stack = stack_of([optics_of(name) for name in names], end)
    return lab_from_reflectance(FACE.seen(reflectance_within(stack, np.array(thickness))))


def in_contact(tile: float) -> LowerEnd:
    return LowerEnd(np.full(31, float(FACE.internal(tile))), 1.5)


def specimen_mm(name: str) -> float:
    return 0.2 if name.startswith("opaque") else 1.0


@pytest.mark.parametrize("name", NUMBERS)
def test_thick_layers_have_their_colour(name: str) -> None:
    optics = optics_of(name)
    inside = thick_reflectance(optics.absorption_per_mm, optics.scattering_per_mm)
    assert lab_from_reflectance(FACE.seen(inside)) == pytest.approx(THICK[name], abs=0.1)


@pytest.mark.parametrize("name", NUMBERS)
def test_specimens_on_black_and_white_have_their_colour_and_translucency(name: str) -> None:
    on_black, on_white, contact, air = BLACK_WHITE[name]
    mm = [specimen_mm(name)]
    dark, bright = (colour_of([name], mm, in_contact(tile)) for tile in (BLACK, WHITE))
    assert dark == pytest.approx(on_black, abs=0.1)
    assert bright == pytest.approx(on_white, abs=0.1)
    assert float(np.linalg.norm(bright - dark)) == pytest.approx(contact, abs=0.1)
    apart = colour_of([name], mm, mouth_end(WHITE)) - colour_of([name], mm, mouth_end(BLACK))
    assert float(np.linalg.norm(apart)) == pytest.approx(air, abs=0.1)


CROWN = [
    # cervical, body over a core of internal reflectance 0.40; incisal over an open mouth of 0.05
    (["opaque mid", "dentine 4", "enamel mid"], [0.15, 0.7, 0.15], False, (72.2, 3.9, 20.4)),
    (
        ["opaque light", "dentine 3", "enamel mid", "transparent clear"],
        [0.15, 0.75, 0.4, 0.1],
        False,
        (75.7, 2.2, 16.4),
    ),
    (["dentine 3", "enamel light", "transparent opal"], [0.5, 0.8, 0.3], True, (75.2, -0.4, 6.3)),
]


@pytest.mark.parametrize(("names", "thickness", "free", "lab"), CROWN)
def test_a_small_crown_has_its_colours(
    names: list[str], thickness: list[float], free: bool, lab: tuple[float, float, float]
) -> None:
    end = mouth_end(0.05) if free else LowerEnd(np.full(31, 0.40), 1.5)
    assert colour_of(names, thickness, end) == pytest.approx(lab, abs=0.1)


@pytest.mark.parametrize("name", NUMBERS)
def test_what_shines_through_falls_with_thickness(name: str) -> None:
    ends = in_contact(WHITE), in_contact(BLACK)
    pairs = [[colour_of([name], [mm], end) for end in ends] for mm in (0.1, 0.3, 0.6, 1.0, 2.0, 4.0)]
    through = [float(np.linalg.norm(bright - dark)) for bright, dark in pairs]
    assert all(np.diff(through) < 0)


@pytest.mark.parametrize("name", ["dentine 1", "dentine 2", "dentine 3", "dentine 4", "dentine chroma"])
def test_dentine_hides_tiles_from_2_6_to_3_3_mm_as_published_porcelains_do(name: str) -> None:
    # published: dentine porcelains hide black from white to a CIELAB difference of 1.0 at 2.6 to 3.7 mm
    # (Key Eng Mater 2012;492:349)
    from scipy.optimize import brentq

    def shining_through(mm: float) -> float:
        step = colour_of([name], [mm], in_contact(WHITE)) - colour_of([name], [mm], in_contact(BLACK))
        return float(np.linalg.norm(step)) - 1.0

    assert 2.5 < brentq(shining_through, 0.5, 6.0) < 3.4


def test_45_0_shows_a_body_lighter_than_d_8_without_glare_by_about_one_unit() -> None:
    # the ratio of both shares that pass, 0.4052 / 0.3875 at index 1.5, whatever the body
    optics = optics_of("dentine 3")
    inside = thick_reflectance(optics.absorption_per_mm, optics.scattering_per_mm)
    straight, sphere = outer_face(1.5, "45/0").seen(inside), FACE.seen(inside)
    assert straight / sphere == pytest.approx(np.full(31, 0.40523 / 0.38751), rel=1e-4)
    assert 1.0 < lab_from_reflectance(straight)[0] - lab_from_reflectance(sphere)[0] < 2.0


def test_thousands_of_points_are_summed_at_once_and_agree_with_one_by_one() -> None:
    random = np.random.default_rng(1)
    stack = stack_of([optics_of(n) for n in ("opaque mid", "dentine 3", "enamel mid")], in_contact(0.4))
    thickness = random.uniform(0, 1, (40, 50, 3))
    whole = reflectance_within(stack, thickness)
    assert whole.shape == (40, 50, 31)
    assert whole[7, 11] == pytest.approx(reflectance_within(stack, thickness[7, 11]), abs=1e-15)
