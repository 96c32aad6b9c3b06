"""Tabs from CSV: the right numbers, or an error of the family; never wrong silently."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from tab_text import columns, text_of

from firstbake.errors import BadInput, FirstbakeError
from firstbake.files.tab_file import tabs_from_table
from firstbake.files.tab_table import table_from_text

SPECTRA = columns()
PLAIN = text_of(SPECTRA)


def read(text):
    return tabs_from_table(table_from_text(text, "tabs.csv"))


def spectra_of(file):
    return np.array(
        [
            file.tabs.black_tile,
            file.tabs.white_tile,
            *(s for tab in file.tabs.tabs for s in (tab.over_black, tab.over_white)),
        ]
    )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.sampled_from(";\t,"), st.booleans(), st.booleans(), st.booleans(), st.sampled_from(["", "\r"]))
def test_every_way_of_writing_gives_the_same_numbers(delimiter, comma, percent, falling, extra):
    text = text_of(SPECTRA, delimiter=delimiter, comma=comma, percent=percent, falling=falling)
    found = read(text.replace("\n", extra + "\n"))
    np.testing.assert_allclose(spectra_of(found), SPECTRA, atol=1e-12)
    assert [tab.thickness_mm for tab in found.tabs.tabs] == [0.5, 1.0]
    assert found.tabs.tabs[0].contact == "optical contact"
    assert (found.powder, found.role, found.geometry) == ("my powder", "dentine", "d/8 specular excluded")


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    st.integers(0, len(PLAIN) - 1),
    st.sampled_from(['"', ";", ",", ".", "-", "x", "9", "\n", "\x00", "é", ""]),
)
def test_one_damaged_character_is_refused_or_changes_one_reading_at_most(place, put):
    """A digit for a digit can't be noticed; anything else may not move more than the one cell it hit."""
    text = PLAIN[:place] + put + PLAIN[place + 1 :]
    try:
        found = spectra_of(read(text))
    except FirstbakeError:
        return
    assert found.shape == SPECTRA.shape
    assert (np.abs(found - SPECTRA) > 1e-9).sum() <= 1


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.text(max_size=300))
@example("what;tab\n")
@example("what;black tile;white tile;tab;tab\n400;1;2;3;4\n")
@example('powder;"a\n')
def test_any_text_is_read_or_refused_by_the_family(text):
    with pytest.raises(BadInput):
        read(text)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(st.sampled_from(PLAIN.splitlines()), max_size=45), st.data())
def test_shuffled_lost_and_doubled_rows_are_refused_or_right(rows, data):
    drop = data.draw(st.sets(st.integers(0, len(PLAIN.splitlines()) - 1), max_size=2))
    kept = [row for k, row in enumerate(PLAIN.splitlines()) if k not in drop] + rows[:1] * data.draw(
        st.integers(0, 1)
    )
    try:
        found = read("\n".join(kept))
    except FirstbakeError:
        return
    np.testing.assert_allclose(spectra_of(found), SPECTRA, atol=1e-12)


def test_random_bytes_are_refused(tmp_path):
    from firstbake.files import read_tabs

    rng = np.random.default_rng(3)
    for size in (0, 1, 40, 4000):
        (tmp_path / "x.csv").write_bytes(rng.bytes(size))
        with pytest.raises(BadInput, match=r"x\.csv"):
            read_tabs(tmp_path / "x.csv")
    with pytest.raises(BadInput, match="does not exist"):
        read_tabs(tmp_path / "none.csv")
    with pytest.raises(BadInput, match="folder"):
        read_tabs(tmp_path)


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ({"role": None}, "role is missing"),
        ({"role": ["gum"]}, "not one of"),
        ({"geometry": ["sideways"]}, "geometry"),
        ({"contact": ["glue"]}, "glue"),
        ({"contact": None}, "contact"),
        ({"date": ["1.3.2026"]}, "2026-03-01"),
        ({"aperture_mm": ["4", "5"]}, "whole file"),
        ({"unit": ["fraction"]}, "white tile"),
        ({"unit": ["permille"]}, "percent or fraction"),
        ({"what": ["black tile", "tab", "tab", "tab", "tab", "tab"]}, "no white tile"),
        ({"what": ["black tile", "white tile", "tab", "tab", "tab", "spoon"]}, "spoon"),
        ({"backing": ["", "", "black", "black", "black", "white"]}, "no white"),
        ({"thickness_mm": ["", "", "0.5", "0.5", "", ""]}, "column 6"),
        ({"thickness_mm": ["500"]}, "500 mm"),
        ({"glaze": ["shiny"]}, "no known row"),
        ({"index": ["15"]}, "between 1.3 and 2.5"),
    ],
)
def test_a_wrong_header_row_is_named(rows, told):
    with pytest.raises(BadInput, match=told):
        read(text_of(SPECTRA, **rows))


def test_decimal_commas_between_commas_are_refused():
    """0,5 without quotes in a comma table falls into two cells."""
    with pytest.raises(BadInput, match="decimals take a point"):
        read(text_of(SPECTRA, delimiter=";").replace(";", ","))


@pytest.mark.parametrize("cell", ["1.234,5", "nan", "inf", "1e999", "0x10", "١٢", "3 4", "--1"])
def test_a_cell_that_is_no_plain_number_is_refused(cell):
    lines = PLAIN.splitlines()
    lines[15] = ";".join([*lines[15].split(";")[:-1], cell])
    with pytest.raises(BadInput):
        read("\n".join(lines))


def test_repeated_readings_are_averaged_and_count():
    twice = np.vstack([SPECTRA, SPECTRA[2:] + 0.002])
    text = text_of(twice, sizes=(0.5, 1.0, 0.5, 1.0))
    tabs = read(text).tabs
    assert [tab.readings for tab in tabs.tabs] == [(2, 2), (2, 2)]
    np.testing.assert_allclose(tabs.tabs[0].over_black, SPECTRA[2] + 0.001, atol=1e-12)


def test_a_20_nm_grid_is_brought_to_10_nm_and_a_short_one_refused():
    lines = PLAIN.splitlines()
    head, values = lines[:10], lines[10:]
    found = read("\n".join(head + values[::2]))
    np.testing.assert_allclose(spectra_of(found), SPECTRA, atol=2e-3)
    with pytest.raises(BadInput, match="400 to 700"):
        read("\n".join(head + values[3:]))
    with pytest.raises(BadInput, match="apart"):
        read("\n".join(head + values[::3]))
