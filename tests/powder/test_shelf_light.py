"""The optics of the shelf's cards look as their sources say."""

import re
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from firstbake.colour import lab_from_reflectance, layer, outer_face, over, thick_reflectance
from firstbake.files.cards import cards_on_shelf, find_card, read_core, read_powder
from firstbake.powder import Optics

NOWHERE = Path(__file__).parent
BLACK, WHITE = 0.03, 0.87  # reflectance of the tiles


def thick_lab(optics: Optics) -> NDArray[np.float64]:
    inside = thick_reflectance(optics.absorption_per_mm, optics.scattering_per_mm)
    seen = outer_face(optics.index, "d/8 specular excluded").seen(inside)
    return lab_from_reflectance(seen)


def black_white_difference(optics: Optics, thickness_mm: float) -> float:
    face = outer_face(optics.index, "d/8 specular excluded")
    r, t = layer(optics.absorption_per_mm, optics.scattering_per_mm, thickness_mm)
    black, white = (
        lab_from_reflectance(face.seen(over(r, t, face.internal(np.full_like(r, tile)))))
        for tile in (BLACK, WHITE)
    )
    return float(np.linalg.norm(white - black))


def stated_lab(optics: Optics) -> list[float]:
    found = re.search(r"thick layer about Lab ([-.\d]+), ([-.\d]+), ([-.\d]+)", optics.source)
    assert found is not None, optics.source
    return [float(number) for number in found.groups()]


@pytest.mark.parametrize("name", sorted(cards_on_shelf("powder", beside=NOWHERE)))
def test_a_thick_layer_of_powder_has_the_colour_its_card_states(name: str) -> None:
    optics = read_powder(find_card(name, kind="powder", beside=NOWHERE)).optics
    np.testing.assert_allclose(thick_lab(optics), stated_lab(optics), atol=0.6)


@pytest.mark.parametrize("name", ["zirconia", "zirconia-tinted", "alumina", "glass-ceramic"])
def test_a_thick_core_has_the_colour_its_card_states(name: str) -> None:
    optics = read_core(find_card(name, kind="core", beside=NOWHERE)).optics
    assert optics is not None
    np.testing.assert_allclose(thick_lab(optics), stated_lab(optics), atol=0.6)


@pytest.mark.parametrize(
    ("name", "thickness_mm", "difference"),
    [
        ("zirconia", 0.4, 15.1),
        ("zirconia", 1.0, 5.5),
        ("glass-ceramic", 0.6, 25.3),
        ("glass-ceramic", 2.0, 2.2),
    ],
)
def test_cores_let_light_through_as_published(name: str, thickness_mm: float, difference: float) -> None:
    # Wang, Takahashi & Iwasaki 2013: colour difference on black and on white of the ends of their series.
    optics = read_core(find_card(name, kind="core", beside=NOWHERE)).optics
    assert optics is not None
    assert black_white_difference(optics, thickness_mm) == pytest.approx(difference, abs=3.2)


def test_enamel_lets_more_light_through_than_dentine_and_opaque_least() -> None:
    through = {
        name: black_white_difference(read_powder(path).optics, 1.0)
        for name, path in cards_on_shelf("powder", beside=NOWHERE).items()
    }
    assert through["demo-transparent-1"] > through["demo-enamel-1"] > through["demo-dentine-1"]
    assert through["demo-dentine-1"] > through["demo-opaque-dentine-1"] > through["demo-opaque-1"]
