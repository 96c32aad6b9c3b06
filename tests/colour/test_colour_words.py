"""Colours and differences in words a ceramist would use."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstbake.colour import delta_e00, difference_in_words, name_of


@pytest.mark.parametrize(
    ("lab", "name"),
    [
        ((74.5, 2.0, 18.0), "warm ivory"),
        ((75.2, 1.3, 16.3), "ivory"),
        ((72.0, 0.0, 9.5), "pale yellowish grey"),
        ((80.0, 0.2, 14.0), "light ivory"),
        ((72.8, 3.6, 22.5), "warm straw"),
        ((52.0, 6.0, 20.0), "medium brown"),
        ((35.0, 1.0, 3.0), "warm dark grey"),
        ((62.0, -1.0, 3.0), "greenish grey"),
        ((95.0, 0.0, 1.0), "white"),
        ((5.0, 0.0, 0.0), "black"),
        ((40.0, 10.0, -40.0), "dark blue"),
    ],
)
def test_colours_have_plain_names(lab: tuple[float, float, float], name: str) -> None:
    assert name_of(lab) == name


@given(l=st.floats(0, 100), a=st.floats(-80, 80), b=st.floats(-80, 80))
def test_every_colour_has_a_name_of_plain_letters(l: float, a: float, b: float) -> None:  # noqa: E741
    name = name_of((l, a, b))
    assert name
    assert name == " ".join(name.split())
    assert name.replace(" ", "").isalpha()


@pytest.mark.parametrize(
    ("lab", "wanted", "words"),
    [
        ((74.5, 1.2, 16.0), (74.5, 2.0, 18.0), "a little less yellow and red than wanted"),
        ((75.0, 2.0, 22.0), (75.0, 2.0, 18.0), "more yellow than wanted"),
        ((70.0, 2.0, 18.0), (75.0, 2.0, 18.0), "darker than wanted"),
        ((76.5, 2.0, 18.0), (75.0, 2.0, 18.0), "a little lighter than wanted"),
        ((75.0, 2.0, 18.2), (75.0, 2.0, 18.0), "as wanted, as far as most eyes can tell"),
        (
            (60.0, 8.0, 30.0),
            (75.0, 2.0, 18.0),
            "much darker and more red and yellow than wanted, above all darker",
        ),
    ],
)
def test_differences_are_told_heaviest_first(
    lab: tuple[float, float, float], wanted: tuple[float, float, float], words: str
) -> None:
    assert difference_in_words(lab, wanted) == words


def test_without_a_wanted_colour_there_is_no_difference_to_tell() -> None:
    assert difference_in_words((75.0, 2.0, 18.0), None) == "no colour was ordered for this zone"


labs = st.tuples(st.floats(40, 90), st.floats(-5, 15), st.floats(0, 35))


@given(lab=labs, wanted=labs)
def test_the_words_name_the_right_direction(
    lab: tuple[float, float, float], wanted: tuple[float, float, float]
) -> None:
    told = difference_in_words(lab, wanted)
    if float(delta_e00(lab, wanted)) < 0.8:
        assert told.startswith("as wanted")
        return
    if "lighter" in told:
        assert lab[0] > wanted[0]
    if "darker" in told:
        assert lab[0] < wanted[0]
    assert any(word in told for word in ("lighter", "darker", "red", "yellow"))
