"""Colour files under fire: an error of the family or the right numbers, never silently wrong."""

import numpy as np
import pytest
from colour_bytes import NM, cgats, csv_columns, csv_lines, curve, cxf
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from firstbake.errors import FirstbakeError
from firstbake.files import colours_of_bytes

ONE, TWO = curve(0.2, 0.4, 480), curve(0.31, 0.3, 520)
BOTH = {"one": ONE, "two": TWO}
WRITERS = {
    "cgats": lambda: cgats([BOTH]),
    "cxf": lambda: cxf(BOTH),
    "lines": lambda: csv_lines(BOTH),
    "lines comma": lambda: csv_lines(BOTH, mark=";", comma=True, scale=100.0),
    "columns": lambda: csv_columns(BOTH),
    "columns comma": lambda: csv_columns(BOTH, mark="\t", comma=True, scale=100.0),
}
QUICK = settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
steps = st.lists(st.floats(-0.02, 0.02), min_size=31, max_size=31)
reflectances = st.tuples(st.floats(0.05, 0.9), steps).map(
    lambda both: np.clip(both[0] + np.cumsum(both[1]), 0.02, 1.0)
)
names = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=12)


def outcome(data: bytes):
    """The readings, or None for an error of the family; any other error fails the test."""
    try:
        return colours_of_bytes(data, file="x")
    except FirstbakeError as error:
        assert str(error) and "\n" not in str(error)
        return None


@QUICK
@example(name="喽ø#漻è|Â%𠄵", values=np.linspace(0.60, 0.65, 31), percent=False)
@example(name="mix 50%", values=np.linspace(0.60, 0.65, 31), percent=False)
@given(name=names, values=reflectances, percent=st.booleans())
def test_any_name_and_spectrum_comes_back_or_is_refused(name, values, percent):
    wanted = np.round(values, 6)
    scale = 100.0 if percent else 1.0
    for text in (
        cgats([{name: wanted}], scale=scale),
        csv_lines({name.replace('"', '""'): wanted}, scale=scale),
        csv_columns({name.replace('"', '""'): wanted}, mark=";", comma=True, scale=scale),
    ):
        readings = outcome(text.encode())
        if readings is not None and not any("s.d." in n for n in readings[0].notes):
            assert len(readings) == 1
            np.testing.assert_allclose(readings[0].reflectance, wanted, atol=2e-6)


@pytest.mark.parametrize("kind", WRITERS)
@QUICK
@given(cut=st.integers(0, 3000))
def test_a_file_cut_short_gives_whole_spectra_or_an_error(kind, cut):
    text = WRITERS[kind]()
    readings = outcome(text[: max(len(text) - cut, 0)].encode())
    for reading in readings or ():
        assert reading.reflectance is not None
        assert len(reading.reflectance) == 31
        # The last number may have lost its last digits; nothing else may differ.
        wanted = BOTH[reading.name]
        np.testing.assert_allclose(reading.reflectance[:-1], wanted[:-1], atol=1e-6)


@pytest.mark.parametrize("kind", WRITERS)
@QUICK
@example(place=0.03125, mark="x")  # a prefix that names no namespace
@given(
    place=st.floats(0, 1, exclude_max=True),
    mark=st.sampled_from([",", ";", "\t", '"', "\n", " ", "x", "#", "<"]),
)
def test_a_stray_mark_never_moves_numbers_to_another_wavelength(kind, place, mark):
    text = WRITERS[kind]()
    at = int(place * len(text))
    readings = outcome((text[:at] + mark + text[at:]).encode())
    for reading in readings or ():
        if reading.reflectance is None:
            continue
        nearest = [
            np.sum(~np.isclose(np.interp(reading.wavelength_nm, NM, v), reading.reflectance, atol=1e-4))
            for v in (ONE, TWO)
        ]
        assert min(nearest) <= 1, (reading, text[max(at - 30, 0) : at + 30])


@QUICK
@given(data=st.binary(max_size=400))
def test_any_bytes_at_all_end_in_an_error(data):
    assert outcome(data) is None or len(data) > 20


@QUICK
@given(
    head=st.sampled_from([b"<", b"CGATS.17\nBEGIN_DATA_FORMAT\n", b"400;410;700\n", b"L*,a*,b*\n"]),
    data=st.binary(max_size=200),
)
def test_any_bytes_after_a_true_beginning_end_in_an_error_or_numbers_in_range(head, data):
    for reading in outcome(head + data) or ():
        if reading.lab is not None:
            assert 0 <= reading.lab[0] <= 110
        if reading.reflectance is not None:
            assert reading.reflectance.max() <= 1.3
