"""Places on a tooth in words."""

import numpy as np
import pytest

from firstbake.teeth import Frame, Tooth, place_in_words, zone_of


def frame(number: str) -> Frame:
    """A tooth 8 wide, 6 deep, 10 high, standing on the file's axes."""
    tooth = Tooth(number)
    around = np.linspace(-3.0, 3.0, 20)
    return Frame(
        tooth,
        np.zeros(3),
        np.diag([1.0, 1.0, float(tooth.handed)]),
        10.0,
        8.0,
        6.0,
        around,
        np.zeros(20),
        "",
        1.0,
    )


@pytest.mark.parametrize(
    ("local", "words"),
    [
        ((0.0, 3.0, 1.0), "labial, cervical third"),
        ((0.0, -3.0, 5.0), "palatal, middle third"),
        ((4.0, 0.0, 5.0), "mesial, middle third"),
        ((-4.0, 0.3, 8.0), "distal, incisal third"),
        ((-2.8, 2.1, 2.0), "distolabial, cervical third"),
        ((2.8, -2.1, 5.0), "mesiopalatal, middle third"),
        ((0.0, 0.2, 9.8), "incisal edge"),
    ],
)
def test_front_teeth(local: tuple[float, float, float], words: str) -> None:
    assert place_in_words(frame("11"), local) == words


@pytest.mark.parametrize(
    ("local", "words"),
    [
        ((0.0, 3.0, 1.0), "buccal, cervical third"),
        ((0.0, -3.0, 5.0), "lingual, middle third"),
        ((0.2, 0.1, 8.0), "occlusal, central fossa"),
        ((-1.8, 1.4, 9.0), "occlusal, distobuccal"),
        ((3.9, 0.0, 8.0), "mesial, occlusal third"),
    ],
)
def test_lower_molars(local: tuple[float, float, float], words: str) -> None:
    assert place_in_words(frame("36"), local) == words


def test_zones_are_thirds_of_the_height_above_the_margin() -> None:
    heights = np.array([0.5, 3.2, 3.5, 6.5, 6.8, 9.9])
    points = np.column_stack([np.zeros(6), np.full(6, 3.0), heights])
    assert zone_of(frame("11"), points).tolist() == [0, 0, 1, 1, 2, 2]
    assert zone_of(frame("11"), points).dtype == np.int8
