"""[target] may name colour files; the plan's target is then what they hold, all in one geometry."""

import numpy as np
import pytest
from colour_bytes import csv_lines, curve

from firstbake.colour import delta_e00, lab_from_reflectance, metameric_difference
from firstbake.errors import BadCase
from firstbake.files.case_schema import TargetTable
from firstbake.files.case_target import target_of

BODY, NECK = curve(0.2, 0.4, 480), curve(0.15, 0.4, 500)


def target(folder, **table):
    inputs, notes = {}, []
    made = target_of(TargetTable(**table), folder / "case.toml", inputs=inputs, notes=notes)
    return made, inputs, [n.sentence for n in notes]


def write(folder, name, samples, geometry=""):
    head = f"geometry;{geometry}\n" if geometry else ""
    (folder / name).write_text(csv_lines(samples, mark=";", head=head), "utf-8")


def test_three_numbers_stay_as_they_were(tmp_path):
    made, inputs, notes = target(tmp_path, body=(75.0, 1.0, 16.0))
    assert made.body == (75.0, 1.0, 16.0)
    assert (made.geometry, made.reflectance, inputs, notes) == ("45/0", {}, {}, [])


def test_a_spectrum_becomes_the_target_and_is_kept_for_metamerism(tmp_path):
    write(tmp_path, "tooth.csv", {"body": BODY, "cervical": NECK}, "45/0")
    made, inputs, _ = target(tmp_path, body_file="tooth.csv", cervical_file="tooth.csv")
    assert made.body == pytest.approx(tuple(lab_from_reflectance(BODY)), abs=1e-3)
    assert made.cervical == pytest.approx(tuple(lab_from_reflectance(NECK)), abs=1e-3)
    assert list(inputs) == ["tooth.csv"]
    assert np.max(metameric_difference(NECK, made.reflectance["body"], illuminant="A")) > 0


def test_files_of_another_geometry_are_converted_and_told(tmp_path):
    write(tmp_path, "tooth.csv", {"x": BODY}, "d/8 SCI")
    made, _, notes = target(tmp_path, body_file="tooth.csv", stump=(60.0, 3.0, 18.0))
    assert made.geometry == "45/0"
    assert any("converted to 45/0" in note for note in notes)
    assert made.doubt_delta_e00["body"] > 0.1
    assert float(delta_e00(made.body, lab_from_reflectance(BODY))) > 1.0
    alone, _, _ = target(tmp_path, body_file="tooth.csv#x")
    assert alone.geometry == "d/8 specular included"
    assert alone.body == pytest.approx(tuple(lab_from_reflectance(BODY)), abs=1e-3)


def test_what_was_converted_goes_with_the_target_for_the_sheet(tmp_path):
    write(tmp_path, "tooth.csv", {"x": BODY}, "d/8 SCI")
    made, _, notes = target(tmp_path, body_file="tooth.csv", stump=(60.0, 3.0, 18.0))
    assert list(made.notes) == ["body"]
    assert f"body: {made.notes['body']}" in notes


def test_a_file_without_geometry_is_taken_as_the_cases_and_told(tmp_path):
    write(tmp_path, "tooth.csv", {"x": BODY})
    made, _, notes = target(tmp_path, body_file="tooth.csv", geometry="d/8 specular excluded")
    assert made.geometry == "d/8 specular excluded"
    assert any("not stated, taken as d/8 specular excluded" in note for note in notes)
    np.testing.assert_allclose(made.reflectance["body"], BODY, atol=1e-5)


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ({"body_file": "none.csv"}, 'target.body_file": .*none.csv does not exist'),
        ({"body_file": "two.csv"}, 'two.csv has no colour named "body".*a, b'),
        ({"body_file": "two.csv#c"}, 'no colour named "c"'),
        ({"body_file": "two.csv", "body": (70.0, 1.0, 2.0)}, "leave one out"),
        ({"stump_file": "lab.csv", "geometry": "45/0"}, 'target.stump_file": lab.csv.*cannot be compared'),
        ({"stump_file": "d50.csv"}, 'target.stump_file": d50.csv.*D65'),
    ],
)
def test_each_fault_names_its_key_and_file(tmp_path, table, told):
    write(tmp_path, "two.csv", {"a": BODY, "b": NECK}, "45/0")
    (tmp_path / "lab.csv").write_text("name,L*,a*,b*,geometry\nx,70,1,15,d/8 SCE\n")
    (tmp_path / "d50.csv").write_text("name,L*,a*,b*,illuminant,observer\nx,70,1,15,D50,2\n")
    with pytest.raises(BadCase, match=told):
        target(tmp_path, **table)


def test_the_doubt_a_file_tells_and_that_of_a_change_of_geometry_come_together(tmp_path):
    head = "geometry,{}\nilluminant,D65\nobserver,2\n"
    zones = "name,L*,a*,b*,doubt_delta_e00\nbody,70,1,15,1.25\nstump,60,4,18,\n"
    (tmp_path / "zones.csv").write_text(head.format("45/0") + zones)
    made, _, _ = target(tmp_path, body_file="zones.csv", stump_file="zones.csv")
    assert made.doubt_delta_e00 == {"body": 1.25}
    names = [f"nm{w:.0f}" for w in np.arange(400, 701, 10)]
    row = ",".join(f"{v:.5f}" for v in BODY)
    text = "geometry,d/8 SCI\nname,doubt_delta_e00," + ",".join(names) + "\nbody,{}," + row + "\n"
    found = []
    for told in ("", "0.9"):
        (tmp_path / "tooth.csv").write_text(text.format(told))
        made, _, _ = target(tmp_path, body_file="tooth.csv", geometry="45/0")
        found.append(made.doubt_delta_e00["body"])
    assert found[1] == pytest.approx(np.hypot(found[0], 0.9))
    (tmp_path / "zones.csv").write_text(head.format("45/0") + zones.replace("1.25", "-2"))
    with pytest.raises(BadCase, match="a doubt of -2"):
        target(tmp_path, body_file="zones.csv")
