"""Coupons from CSV: read right or refused by line, and written to a card that reads back."""

import pytest

from firstbake.cli import main
from firstbake.errors import BadInput, BadOutput
from firstbake.files import fit_card, read_coupons, read_powder, write_fitted_card

HEAD = "shape,green_height_mm,fired_height_mm,green_diameter_mm,fired_diameter_mm\n"
DISC = "disc,3.00,2.556,10.00,8.52\n"


def test_a_decimal_comma_in_quotes_reads_as_a_number(tmp_path):
    (tmp_path / "c.csv").write_text(HEAD + 'disc,"3,00","2,556","10,00","8,52"\n', "utf-8")
    (coupon,) = read_coupons(tmp_path / "c.csv")
    assert coupon.green_mm == (3.0, 10.0)


def test_semicolons_with_decimal_commas_read_as_numbers(tmp_path):
    text = (HEAD + DISC).replace(",", ";").replace(".", ",")
    (tmp_path / "c.csv").write_text(text, "utf-8")
    (coupon,) = read_coupons(tmp_path / "c.csv")
    assert coupon.green_mm == (3.0, 10.0)
    assert coupon.fired_mm == (2.556, 8.52)


def test_no_doubt_is_printed_as_a_row_of_zeros(tmp_path, capsys):
    (tmp_path / "c.csv").write_text(HEAD + DISC * 4, "utf-8")
    assert main(["shelf", "fit-shrinkage", str(tmp_path / "c.csv"), "--card", "demo-dentine-1"]) == 0
    assert "0.000" not in capsys.readouterr().out.split("For the card")[0]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("form,x\n1,2\n", "no column shape"),
        (HEAD, "no coupons"),
        (HEAD + "rod,3,2,10,8\n", "line 2"),
        (HEAD + "disc,3,2.5,ten,8\n", "green_diameter_mm"),
        (HEAD + "disc,3,2.5,,8\n", "missing"),
        (HEAD + "bar,3,2.5,10,8\n", "green_width_mm"),
        (HEAD + "disc,-3,2.5,10,8\n", "line 2"),
    ],
)
def test_bad_coupons_are_told_by_line(tmp_path, text, told):
    (tmp_path / "c.csv").write_text(text, "utf-8")
    with pytest.raises(BadInput, match=told):
        read_coupons(tmp_path / "c.csv")


def test_a_fitted_card_reads_back_with_its_doubt_and_keeps_the_rest(tmp_path):
    (tmp_path / "c.csv").write_text(HEAD + DISC * 3, "utf-8")
    powder, fit, place = fit_card(tmp_path / "c.csv", "demo-dentine-1")
    write_fitted_card(place, fit, out=tmp_path / "mine.toml", name="mine")
    mine = read_powder(tmp_path / "mine.toml")
    assert mine.name == "mine"
    assert mine.green_relative_density.status == "measured"
    assert mine.green_relative_density.value == pytest.approx(fit.green_relative_density, abs=1e-4)
    assert mine.thermal == powder.thermal
    with pytest.raises(BadOutput, match="there already"):
        write_fitted_card(place, fit, out=tmp_path / "mine.toml", name="mine")


def test_the_command_says_the_shrinkage(tmp_path, capsys):
    (tmp_path / "c.csv").write_text(HEAD + DISC, "utf-8")
    assert main(["shelf", "fit-shrinkage", str(tmp_path / "c.csv"), "--card", "demo-dentine-1"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "38.2% of its volume" in said
    assert "[green_relative_density]" in said
    assert main(["shelf", "fit-shrinkage", str(tmp_path / "absent.csv"), "--card", "demo-dentine-1"]) == 2
