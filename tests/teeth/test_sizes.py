"""Usual sizes: every kind of tooth, same on both sides, with a source."""

import csv
from pathlib import Path

import pytest

from firstbake.errors import BadCase
from firstbake.teeth import Tooth, usual_sizes

NUMBERS = [f"{quadrant}{place}" for quadrant in "1234" for place in "12345678"]
TABLE = Path(__file__).parents[2] / ".." / "shared" / "reference" / "tooth_dimensions.csv"


@pytest.mark.parametrize("number", NUMBERS)
def test_every_tooth_has_sizes_with_a_source_and_a_neck_narrower_than_the_crown(number: str) -> None:
    sizes = usual_sizes(Tooth(number))
    assert "unverified" in sizes.source
    assert sizes.neck_mesiodistal_mm < sizes.mesiodistal_mm
    assert sizes.neck_labiopalatal_mm < sizes.labiopalatal_mm
    assert 0.4 < sizes.contact_distal_share <= sizes.contact_mesial_share < 0.9


@pytest.mark.parametrize("place", "12345678")
def test_left_and_right_are_the_same(place: str) -> None:
    assert usual_sizes(Tooth("1" + place)) == usual_sizes(Tooth("2" + place))
    assert usual_sizes(Tooth("3" + place)) == usual_sizes(Tooth("4" + place))


def test_upper_front_teeth_lie_near_measured_means() -> None:
    # Orozco-Varo et al. 2015, J Prosthet Dent 113(6):565: 8.71 x 10.23 and 6.75 x 8.59 mm (412 adults)
    central, lateral = usual_sizes(Tooth("11")), usual_sizes(Tooth("12"))
    assert central.mesiodistal_mm == pytest.approx(8.71, abs=0.5)
    assert central.crown_height_mm == pytest.approx(10.23, abs=0.5)
    assert lateral.mesiodistal_mm == pytest.approx(6.75, abs=0.5)
    assert lateral.crown_height_mm == pytest.approx(8.59, abs=0.5)


@pytest.mark.skipif(not TABLE.exists(), reason="no shared reference table")
def test_sizes_are_those_of_the_shared_table() -> None:
    for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()):
        sizes = usual_sizes(Tooth(row["fdi_right"]))
        assert sizes.crown_height_mm == float(row["crown_height_mm"])
        assert sizes.mesiodistal_mm == float(row["crown_md_mm"])
        assert sizes.labiopalatal_mm == float(row["crown_ll_mm"])
        assert sizes.neck_mesiodistal_mm == float(row["cervix_md_mm"])
        assert sizes.neck_labiopalatal_mm == float(row["cervix_ll_mm"])
        assert sizes.neck_rise_mesial_mm == float(row["cej_curve_mesial_mm"])


def test_other_sizes_keep_the_proportions() -> None:
    usual = usual_sizes(Tooth("21"))
    other = usual.resized(crown_height_mm=5.25, mesiodistal_mm=17.0, labiopalatal_mm=7.0, source="calliper")
    assert other.neck_mesiodistal_mm == pytest.approx(2 * usual.neck_mesiodistal_mm)
    assert other.neck_rise_mesial_mm == pytest.approx(usual.neck_rise_mesial_mm / 2)
    assert other.source == "calliper"


def test_a_size_no_crown_has_is_refused() -> None:
    with pytest.raises(BadCase, match="crown_height_mm is 105"):
        usual_sizes(Tooth("11")).resized(
            crown_height_mm=105.0, mesiodistal_mm=8.0, labiopalatal_mm=7.0, source="calliper"
        )
