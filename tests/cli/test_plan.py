"""The commands do their job and keep the contract of their output."""

import json
import re
from pathlib import Path

import jsonschema
import pytest

from firstbake.cli import main

WRITTEN = ["plan.json", "bench-sheet.pdf", "green.ply", "green.stl", "green.3mf", "cut-back-core.ply"]


@pytest.fixture(scope="module")
def planned(small_case_master, tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("planned") / "out"
    assert main(["plan", str(small_case_master / "case.toml"), "--out", str(out)]) == 0
    return out


def test_plan_writes_all_it_promises(planned):
    for name in WRITTEN:
        assert (planned / name).stat().st_size > 100
    assert len(list((planned / "pictures").glob("*.png"))) >= 3


def test_plan_json_keeps_its_contract(planned, capsys):
    document = json.loads((planned / "plan.json").read_text("utf-8"))
    assert main(["schema", "plan"]) == 0
    jsonschema.validate(document, json.loads(capsys.readouterr().out))
    assert set(document["room"]["thickness_mm"]) == {"min", "p05", "median", "p95", "max"}
    assert {"volume_mm3", "thin", "contacts", "clearance_mm"} <= set(document["room"])
    assert set(document["green"]["overbuild_mm"]) == {"min", "median", "p95", "max"}
    green = {"model", "residual_um", "error_estimate_um", "sweeps", "nodes", "seconds"}
    assert green <= set(document["green"])
    assert {"powder", "powder_g", "liquid_ml"} <= set(document["mix"][0])
    assert {"zone", "lab", "delta_e00", "doubt_delta_e00"} <= set(document["colour"][0])
    assert {"name", "fired_mm", "green_mm"} <= set(document["callipers"][0])
    assert {"case.toml", "core.stl", "contour.ply", "zirconia", "demo-dentine-1"} <= set(document["inputs"])
    assert document["version"]
    assert document["firing"]


def test_the_plan_says_what_cooling_does(planned):
    document = json.loads((planned / "plan.json").read_text("utf-8"))
    cooling = document["cooling"]
    assert 540 < cooling["set_degC"][0] <= cooling["set_degC"][1] < 640
    assert cooling["curve"][-1][1] == pytest.approx(25.0)
    assert {risk["kind"] for risk in cooling["risks"]} == {"surface", "inside", "lifting"}
    told = [w for w in document["warnings"] if w.startswith("Cooling, ")]
    assert len(told) == len({r["where"] for r in cooling["risks"] if r["band"] != "low"})
    assert len(list((planned / "pictures").glob("cooling-pull-*.png"))) == 2
    assert b"cooling_pull_MPa" in (planned / "green.ply").read_bytes()[:2000]


def test_the_stress_can_be_left_out(small_case, tmp_path):
    words = ["plan", str(small_case / "case.toml"), "--no-stress", "--out", str(tmp_path / "out")]
    assert main(words) == 0
    document = json.loads((tmp_path / "out" / "plan.json").read_text("utf-8"))
    assert document["cooling"] is None
    assert not any(w.startswith("Cooling") for w in document["warnings"])


def test_layers_add_up_and_mass_is_kept(planned):
    document = json.loads((planned / "plan.json").read_text("utf-8"))
    volume = sum(layer["volume_mm3"] for layer in document["layers"])
    assert volume == pytest.approx(document["room"]["volume_mm3"], rel=1e-9)
    green = sum(document["green"]["powder_volume_mm3"].values())
    assert green == pytest.approx(document["green"]["volume_mm3"], rel=1e-9)


def timeless(path: Path) -> bytes:
    """The file's bytes, for plan.json without how long the green shape took."""
    return re.sub(rb'"seconds": [0-9.]+', b"", path.read_bytes())


def test_the_same_case_gives_the_same_bytes(planned, small_case_master, tmp_path):
    again = tmp_path / "again"
    assert main(["plan", str(small_case_master / "case.toml"), "--out", str(again)]) == 0
    for path in sorted(p for p in planned.rglob("*") if p.is_file()):
        assert timeless(path) == timeless(again / path.relative_to(planned)), path.name


def test_planning_again_into_the_same_folder_replaces_the_result_and_keeps_the_rest(
    small_case_master, tmp_path
):
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("mine")
    (out / "plan.json").write_text("old")
    assert main(["plan", str(small_case_master / "case.toml"), "--out", str(out)]) == 0
    assert (out / "mine.txt").read_text() == "mine"
    assert json.loads((out / "plan.json").read_text("utf-8"))["version"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_one_powder_is_a_valid_plan(small_case, capsys):
    text = (small_case / "case.toml").read_text("utf-8")
    (small_case / "case.toml").write_text(text.replace('[[powders]]\ncard = "demo-enamel-1"\n', ""), "utf-8")
    assert main(["plan", str(small_case / "case.toml"), "--out", str(small_case / "out"), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert [layer["role"] for layer in document["layers"]] == ["dentine"]
    assert document["layers"][0]["volume_mm3"] == pytest.approx(document["room"]["volume_mm3"], rel=1e-9)


def test_room_at_points_answers_with_the_shortest_distance(small_case, capsys):
    (small_case / "points.csv").write_text("x_mm,y_mm,z_mm\n0,0,-30\n0,-40,-5\n", "utf-8")
    words = ["room", str(small_case / "case.toml"), "--at", str(small_case / "points.csv"), "--json"]
    assert main(words) == 0
    points = json.loads(capsys.readouterr().out)["points"]
    assert [p["z_mm"] for p in points] == [-30, -5]
    from firstbake.files import read_surface

    core = read_surface(small_case / "core.stl", unit="mm", role="core").surface
    import numpy as np

    for point in points:
        xyz = np.array([point["x_mm"], point["y_mm"], point["z_mm"]])
        nearest_vertex = np.linalg.norm(core.vertices_mm - xyz, axis=1).min()
        assert 0 <= nearest_vertex - point["thickness_mm"] < 0.05


def test_a_case_from_calliper_sizes_plans_and_says_so(small_case, capsys):
    text = (small_case / "case.toml").read_text("utf-8")
    sizes = (
        "[sizes]\ncrown_height_mm = 10.2\nmesiodistal_mm = 8.31\nlabiopalatal_mm = 7.05\ncore_wall_mm = 0.5\n"
    )
    meshes = '[meshes]\ncore = "core.stl"\ncontour = "contour.ply"\n'
    (small_case / "case.toml").write_text(text.replace(meshes, sizes), "utf-8")
    assert main(["plan", str(small_case / "case.toml"), "--out", str(small_case / "out"), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["case"]["source"] == "calliper sizes"
    assert document["case"]["size_doubt_mm"] > 0
    assert any("calliper" in w for w in document["warnings"])


def test_schemas_are_json_schemas(capsys):
    for what in ("case", "plan", "recipe", "bake", "colour-card", "zones", "photo"):
        assert main(["schema", what]) == 0
        jsonschema.Draft202012Validator.check_schema(json.loads(capsys.readouterr().out))


@pytest.mark.parametrize("command", ["plan", "demo", "room", "schema", "stand-in"])
def test_every_command_has_help_with_an_example(command, capsys):
    assert main([command, "--help"]) == 0
    assert f"firstbake {command}" in capsys.readouterr().out
