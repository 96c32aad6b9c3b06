"""Colour files: what goes in comes out, and what is broken is refused with a sentence."""

import hashlib

import numpy as np
import pytest
from colour_bytes import NM, cgats, csv_columns, csv_lines, curve, cxf

from firstbake.errors import BadInput
from firstbake.files import colours_of_bytes, read_colours
from firstbake.target import target_lab

ONE, TWO = curve(0.2, 0.4, 480), curve(0.3, 0.3, 520)
BOTH = {"body one": ONE, "neck": TWO}


def read(text, *, encoding="utf-8"):
    return colours_of_bytes(text.encode(encoding), file="colours")


def assert_both(readings, *, within=1e-6):
    assert [r.name for r in readings] == ["body one", "neck"]
    for reading, wanted in zip(readings, (ONE, TWO), strict=True):
        np.testing.assert_array_equal(reading.wavelength_nm, NM)
        np.testing.assert_allclose(reading.reflectance, wanted, atol=within)


@pytest.mark.parametrize("field", ["SPECTRAL_NM{}", "SPECTRAL_NM_{}", "nm{}", "SPEC_{}", "SPECTRAL_DEC{}"])
def test_cgats_comes_back_in_every_spelling_of_its_fields(field):
    assert_both(read(cgats([BOTH], field=field)))


def pairs(nm=NM, value="SPECTRAL_PCT"):
    """The same two samples with wavelength and value side by side."""
    rows = [
        f'"{name}" ' + " ".join(f"{w} {100 * v:.6f}" for w, v in zip(nm, values, strict=True))
        for name, values in BOTH.items()
    ]
    fields = " ".join(f"SPECTRAL_NM {value}" for _ in nm)
    head = f"CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_NAME {fields}\nEND_DATA_FORMAT\nBEGIN_DATA\n"
    return head + "\n".join(rows) + "\nEND_DATA\n"


def test_cgats_pairs_of_wavelength_and_value_come_back():
    assert_both(read(pairs()))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda t: t.replace(" 410 ", " 400 "), "stands there twice"),
        (lambda t: t.replace("SPECTRAL_PCT", "SPECTRAL_NM", 1), "in turn"),
        (lambda t: t.replace("SPECTRAL_PCT", "SPECTRAL_DEC"), "outside"),
    ],
)
def test_broken_pairs_are_refused(change, told):
    with pytest.raises(BadInput, match=told):
        read(change(pairs()))


def test_a_percent_mark_inside_a_name_is_no_unit_and_a_stated_percent_must_be_one():
    named = {"mix 50%": ONE, "10 % grey": TWO}
    for reading, wanted in zip(read(csv_columns(named)), (ONE, TWO), strict=True):
        np.testing.assert_allclose(reading.reflectance, wanted, atol=1e-6)
    with pytest.raises(BadInput, match="says percent"):
        read(csv_columns({"tooth [%]": ONE}))


def test_two_sets_of_lab_are_refused():
    with pytest.raises(BadInput, match="more than one column"):
        read("name,L*,a*,b*,L*,a*,b*\none,70,1,15,60,2,10\n")


def test_a_column_left_out_by_its_name_is_told():
    (reading,) = read(csv_columns({"tooth": ONE, "tooth sd": TWO}))
    assert any('"tooth sd"' in note for note in reading.notes)


def test_cgats_keeps_several_tables_and_what_stands_above_each():
    text = cgats([{"body one": ONE}], head='MEASUREMENT_GEOMETRY "45°a:0°"') + cgats(
        [{"neck": TWO}], head='MEASUREMENT_GEOMETRY "di:8°"\nINSTRUMENTATION "bench box"'
    )
    readings = read(text)
    assert_both(readings)
    assert [r.geometry for r in readings] == ["45/0", "d/8 specular included"]
    assert readings[1].instrument == "bench box"


def test_cgats_percent_is_seen_and_told_and_a_dark_sample_follows_its_table():
    dark = {"body one": ONE, "black": np.full(31, 0.01)}
    light, black = read(cgats([dark], scale=100.0))
    np.testing.assert_allclose(light.reflectance, ONE, atol=1e-6)
    np.testing.assert_allclose(black.reflectance, 0.01, atol=1e-6)
    assert any("percent" in note for note in black.notes)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda t: t.replace("NUMBER_OF_SETS 2", "NUMBER_OF_SETS 3"), "NUMBER_OF_SETS says 3"),
        (lambda t: t.replace("NUMBER_OF_FIELDS 32", "NUMBER_OF_FIELDS 31"), "NUMBER_OF_FIELDS says 31"),
        (lambda t: t.replace('"neck" ', '"neck '), "quotation mark"),
        (lambda t: t.replace('"neck" ', '"neck" 0.1 '), "33 values for 32 fields"),
        (lambda t: t.replace('"body one"', "body one"), "33 values for 32 fields"),
        (lambda t: t[: t.rindex("END_DATA")], "END_DATA"),
        (lambda t: t.replace("SPECTRAL_NM410", "SPECTRAL_NM400"), "twice"),
        (lambda t: t.replace("BEGIN_DATA_FORMAT\n", "", 1), "out of turn"),
        (lambda t: t.replace("SPECTRAL_NM", "GLOSS_"), "holds no spectra"),
        (lambda t: t.replace("SPECTRAL_NM400", "SPECTRAL_NM405"), "400 to 700"),
        (lambda t: t.replace('"neck" 0', '"neck" x'), "is not a number"),
        (lambda t: t.replace('"neck" 0', '"neck" 9'), "outside"),
    ],
)
def test_broken_cgats_is_refused_and_the_sentence_says_where(change, told):
    text = cgats([BOTH])
    broken = change(text)
    assert broken != text
    with pytest.raises(BadInput, match=told):
        read(broken)


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1", "utf-16"])
@pytest.mark.parametrize("write", [lambda: cgats([BOTH], head='BACKING "weiß °"'), lambda: csv_lines(BOTH)])
def test_line_ends_marks_and_letters_change_nothing(ends, encoding, write):
    readings = colours_of_bytes(write().replace("\n", ends).encode(encoding), file="colours")
    assert_both(readings)
    assert readings[0].backing in ("weiß °", "")


def test_a_doubled_quotation_mark_stays_one():
    (reading,) = read(cgats([{'a "b" c': ONE}]))
    assert reading.name == 'a "b" c'


@pytest.mark.parametrize("write", [csv_lines, csv_columns])
@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("comma", [False, True])
@pytest.mark.parametrize("scale", [1.0, 100.0])
def test_csv_comes_back_in_every_dress(write, mark, comma, scale):
    readings = read(write(BOTH, mark=mark, comma=comma, scale=scale))
    assert_both(readings)
    told = " ".join(readings[0].notes)
    assert ("a sample a line" if write is csv_lines else "a wavelength a line") in told
    assert ("percent" if scale == 100 else "fractions") in told
    assert ("decimal comma" in told) == comma


def test_csv_says_how_it_was_measured_above_the_table_or_in_columns():
    head = "geometry;d/8 SCE\nbacking;white tile\ncontact;glycerine\n"
    head += "thickness;1,02 mm\naperture;3 mm\ninstrument;box\n"
    (reading,) = read(csv_lines({"body": ONE}, mark=";", comma=True, head=head))
    assert reading.geometry == "d/8 specular excluded"
    assert (reading.backing, reading.contact, reading.aperture) == ("white tile", "optical contact", "3 mm")
    assert reading.thickness_mm == pytest.approx(1.02)
    one, two = read("name,L*,a*,b*,geometry\nx,70,1,15,45/0\ny,71,2,16,d/8 SCI\n")
    assert (one.geometry, two.geometry) == ("45/0", "d/8 specular included")


def test_falling_wavelengths_are_turned_and_told():
    lines = csv_columns(BOTH).splitlines()
    readings = read("\n".join([lines[0], *lines[:0:-1]]))
    assert_both(readings)
    assert any("put in order" in note for note in readings[0].notes)


def test_columns_of_blanks_are_read():
    (reading,) = read("\n".join(f"{nm}  {v:.5f}" for nm, v in zip(NM, ONE, strict=True)))
    np.testing.assert_allclose(reading.reflectance, ONE, atol=1e-5)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("hello\nworld\n", "neither a heading"),
        (
            csv_lines(BOTH, comma=True).replace('"', ""),
            "decimal comma",
        ),
        (csv_columns(BOTH, comma=True).replace('"', ""), "values under|no heading"),
        (csv_columns({"b": ONE}, comma=True).split("\n", 1)[1].replace('"', ""), "no heading"),
        (csv_lines(BOTH).replace("0.2", "0,2", 1), "values under"),
        (csv_lines(BOTH, mark=";").replace("0.2", "0,2", 1), "comma in one place"),
        (csv_lines(BOTH).replace(",410,", ",400,"), "twice"),
        (csv_lines(BOTH).replace("name,400", "name,405"), "400 to 700"),
        (csv_columns(BOTH).replace("\n500,", "\nhalf,"), "is no wavelength"),
        (csv_columns(BOTH).replace("\n500,", "\n510,"), "rise"),
        (csv_lines({"x": ONE * 3}), "outside"),
        ("name,L*,a*,b*\nx,70,1\n", "3 values under a heading of 4"),
        ("name,L*,a*,b*\nx,170,1,2\n", "no colour of a surface"),
        ("name,L*,a*,b*\n", "no line under"),
        ("name;L*;a*;b*\nx;70,5;1.2;3\n", "comma in one place"),
        (
            "id,"
            + ",".join(map(str, NM))
            + "\n"
            + "\n".join(f"{n}," + ",".join(["0.5"] * 31) for n in (390, 500, 710)),
            "both along",
        ),
        ('name,L*,a*,b*\n"x,70,1,2\n', "quotation"),
        ("\n".join(f"{nm} 0.5" for nm in range(400, 701, 25)), "widest"),
    ],
)
def test_broken_csv_is_refused_and_the_sentence_says_where(text, told):
    with pytest.raises(BadInput, match=told):
        read(text)


@pytest.mark.parametrize(
    ("geometry", "wanted"),
    [
        ("<SphereGeometry>Specular_Excluded</SphereGeometry>", "d/8 specular excluded"),
        ("<SphereGeometry>Specular_Included</SphereGeometry>", "d/8 specular included"),
        (
            "<SingleAngle><SingleAngleConfiguration>Annular</SingleAngleConfiguration><IlluminationAngle>45"
            "</IlluminationAngle><MeasurementAngle>0.0</MeasurementAngle></SingleAngle>",
            "45/0",
        ),
        ("<UnknownGeometry>Target</UnknownGeometry>", None),
    ],
)
def test_cxf_comes_back_with_its_geometry(geometry, wanted):
    readings = read(cxf(BOTH, geometry=geometry))
    assert_both(readings)
    assert {r.geometry for r in readings} == {wanted}
    assert readings[0].date.startswith("2026-01-02")
    assert readings[0].instrument == "bench box"


def test_cxf_lab_keeps_light_and_observer():
    (reading,) = read(cxf({}, lab={"neck": (71.5, 2.5, 19.0)}))
    assert target_lab(reading) == (71.5, 2.5, 19.0)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda t: t.replace("<cc:CxF", '<!DOCTYPE a [<!ENTITY e "x">]><cc:CxF', 1), "document type"),
        (lambda t: t.replace("</cc:CxF>", ""), "not valid XML"),
        (lambda t: t.replace(" Increment='10'", ""), "Increment"),
        (lambda t: t.replace("StartWL='400'", ""), "StartWL"),
        (lambda t: t.replace("Increment='10'", "Increment='9'"), "400 to 700"),
        (lambda t: t.replace("ColorSpecification='s'", "ColorSpecification='q'"), "not in the file"),
        (lambda t: t.replace("ReflectanceSpectrum", "EmissiveSpectrum"), "no object"),
        (lambda t: t.replace("encoding='UTF-8'", "encoding='NO-SUCH'"), "encoding|not valid"),
        (lambda t: t.replace("<cc:Resources>", "<x>" * 70 + "</x>" * 70 + "<cc:Resources>"), "nests deeper"),
    ],
)
def test_broken_cxf_is_refused(change, told):
    text = cxf(BOTH)
    broken = change(text)
    assert broken != text
    with pytest.raises(BadInput, match=told):
        read(broken)


def test_lab_for_another_light_or_none_is_no_target():
    lab = "name,L*,a*,b*,illuminant,observer\nx,70,1,15,{},{}\n"
    assert target_lab(read(lab.format("D65", "2"))[0]) == (70.0, 1.0, 15.0)
    for light, observer in (("D50", "2"), ("D65", "10"), ("D65", "")):
        with pytest.raises(BadInput, match=r"light and observer|D65 and 2"):
            target_lab(read(lab.format(light, observer))[0])
    table = "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
    table += "BEGIN_DATA\nx 70 1 2\nEND_DATA"
    with pytest.raises(BadInput, match="without saying"):
        target_lab(read(table)[0])


def test_a_spectrum_that_contradicts_its_own_lab_is_told():
    heading = "name,L*,a*,b*,illuminant,observer," + ",".join(map(str, NM))
    row = "x,60,0,0,D65,2," + ",".join(f"{v:.5f}" for v in ONE)
    (reading,) = read(f"{heading}\n{row}\n")
    assert any("the spectrum is used" in note for note in reading.notes)


def test_files_on_disk_keep_name_and_digest(tmp_path):
    path = tmp_path / "tab.csv"
    path.write_text(csv_lines(BOTH), "utf-8")
    readings = read_colours(path)
    assert readings[0].file == "tab.csv"
    assert readings[0].digest == hashlib.sha256(path.read_bytes()).hexdigest()
    for bad, told in ((tmp_path / "none.csv", "does not exist"), (tmp_path, "is a folder")):
        with pytest.raises(BadInput, match=told):
            read_colours(bad)
