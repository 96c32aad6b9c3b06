"""A recipe for a whole case: what is asked, what is answered, and a layering that has it."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstbake.case import Case, Target
from firstbake.cli.main import main
from firstbake.colour import places_of, predict_zones
from firstbake.crown import pool_of, room_of_case
from firstbake.errors import BadCase
from firstbake.files import read_case, recipe_file, shelf_powders, write_ply, write_stl
from firstbake.files.plan_file import case_out
from firstbake.firing import expansion_words
from firstbake.layering import Layers, layer_up
from firstbake.recipe import find_recipe, layer_by, question_of
from firstbake.recipe.sets import sets_of
from firstbake.room import Room, find_shells
from firstbake.teeth import Frame, Tooth, generate_crown, usual_sizes

CASE = """\
[case]
code = "TEST-1"
tooth = "11"
demo = true

[meshes]
core = "core.stl"
contour = "contour.ply"

[core]
material = "zirconia-tinted"

[target]
cervical = [74.5, 2.0, 18.0]
body = [75.2, 1.3, 16.3]
incisal = [72.0, 0.0, 9.5]
stump = [52.0, 6.0, 20.0]

[[powders]]
card = "demo-liner-1"

[[powders]]
card = "demo-dentine-3"

[[powders]]
card = "demo-enamel-2"
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small crown over a tinted core and a dark stump."""
    folder = tmp_path_factory.mktemp("recipe")
    tooth = Tooth("11")
    crown = generate_crown(tooth, usual_sizes(tooth), triangles=5000)
    write_stl(folder / "core.stl", crown.core)
    write_ply(folder / "contour.ply", crown.contour)
    (folder / "case.toml").write_text(CASE, "utf-8")
    return folder / "case.toml"


Planned = tuple[Case, Frame, Room, Layers]


@pytest.fixture(scope="module")
def planned(demo: Path) -> Planned:
    from firstbake.case import NamedSurface

    case = read_case(demo).case
    frame, room = room_of_case(case)
    shells = find_shells(case.contour.surface, case.core.surface, frame)
    if not shells.whole:
        case = replace(case, core=NamedSurface(case.core.name, shells.core))
    case = replace(case, shelf=shelf_powders(demo, {}))
    return case, frame, room, layer_up(case, frame, room)


def test_the_question_has_the_room_of_the_layers_and_a_free_edge(planned: Planned) -> None:
    case, frame, room, layers = planned
    asked = question_of(case, frame, room, layers=layers).zones
    stacks = predict_zones(case, frame, room, layers=layers)
    assert [zone.zone for zone in asked] == ["cervical", "body", "incisal"]
    for zone, colour in zip(asked, stacks, strict=True):
        porcelain = sum(mm for name, mm in colour.stack_mm if name != case.core_material.name)
        assert zone.room_mm == pytest.approx(porcelain, abs=1e-9)
    assert [zone.free for zone in asked] == [False, False, True]
    assert 0.2 < asked[2].back_share < 0.7
    assert asked[0].ordinary is not None


def test_the_recipe_keeps_to_room_least_layers_and_says_what_is_not_reached(planned: Planned) -> None:
    case, frame, room, layers = planned
    found = find_recipe(case, frame, room, layers=layers, powders=pool_of(case))
    assert found.tried > 20
    cards = {powder.name: powder for powder in found.powders}
    for zone in found.zones:
        assert sum(mm for _, mm in zone.layers_mm) == pytest.approx(zone.room_mm, abs=1e-6)
        for name in {name for name, _ in zone.layers_mm}:
            whole = sum(mm for other, mm in zone.layers_mm if other == name)
            assert whole >= cards[name].least_mm.value - 1e-6
        assert zone.reached == (zone.delta_e00 <= 0.8)
        assert zone.robust_delta_e00 > 0
        assert bool(zone.choices) != zone.reached
        low, high = zone.band_delta_e00
        assert low <= zone.delta_e00 <= high
    assert not found.reached, "the edge of the demo is darker than these powders allow"
    assert all(not expansion_words(case.core_material, (powder,)) for powder in found.powders)
    grams = sum(portion.powder_g for portion in found.portions)
    assert 0.3 < grams < 1.5
    for portion in found.portions:
        assert portion.cost == pytest.approx(portion.powder_g * cards[portion.powder].price_per_g.value)


def test_the_plan_of_a_recipe_has_its_enamel_in_every_zone(planned: Planned) -> None:
    case, frame, room, layers = planned
    found = find_recipe(case, frame, room, layers=layers)
    own, laid = layer_by(case, frame, room, recipe=found)
    assert own.powders == found.powders
    veneered = room.veneered
    total = sum(layer.thickness_mm for layer in laid.layers)
    assert np.allclose(total[veneered], np.maximum(room.thickness_mm[veneered], 0.0), atol=1e-9)
    zones = {zone.zone: zone for zone in found.zones}
    for place in places_of(own, frame, room, layers=laid):
        has = sum(mm for powder, mm in place.layers if powder.role == "enamel")
        wanted = sum(mm for name, mm in zones[place.zone].layers_mm if "enamel" in name)
        assert has == pytest.approx(wanted, abs=0.06 if place.zone != "incisal" else 0.25)


def test_sets_start_with_two_powders_and_keep_to_one_bake_and_one_core(planned: Planned) -> None:
    case = planned[0]
    sets, notes = sets_of(case.core_material, pool_of(case), case.limits)
    sizes = [len(powders.ingredients) for powders in sets]
    assert sizes == sorted(sizes)
    assert sizes[0] == 2
    assert not notes
    for powders in sets:
        assert not any("metal" in name or name == "demo-opaque-1" for name in powders.names)
        main_bake = [i.name for i in powders.ingredients if i.role in ("dentine", "enamel")]
        assert len({"low" in name for name in main_bake}) == 1, "130 K apart do not bake together"


def test_a_recipe_is_worked_out_in_the_geometry_of_the_targets(planned: Planned) -> None:
    case, frame, room, layers = planned
    other = replace(case, target=replace(case.target, geometry="d/8 specular included"))
    one, two = (find_recipe(c, frame, room, layers=layers) for c in (case, other))
    assert (one.geometry, two.geometry) == ("45/0", "d/8 specular included")
    # the mirror part lightens what is seen by 1.5 to 3 in L*, so the same target asks for darker porcelain
    seen = [predict_zones(c, frame, room, layers=layers)[1].lab[0] for c in (case, other)]
    assert 1.0 < seen[1] - seen[0] < 4.0
    assert one.zones[1].layers_mm != two.zones[1].layers_mm


def test_a_case_without_targets_has_no_recipe(planned: Planned) -> None:
    case, frame, room, layers = planned
    with pytest.raises(BadCase, match="no zone has a target"):
        find_recipe(replace(case, target=Target()), frame, room, layers=layers)


def test_recipe_json_has_its_keys_and_no_number_is_lost(demo: Path, planned: Planned) -> None:
    case, frame, room, layers = planned
    loaded = replace(read_case(demo), case=case)
    found = find_recipe(case, frame, room, layers=layers)
    document = json.loads(recipe_file(loaded, found, case=case_out(loaded)).model_dump_json())["recipe"]
    assert {"powders", "zones", "alternatives"} <= document.keys()
    keys = {
        "zone",
        "layers_mm",
        "lab",
        "target",
        "delta_e00",
        "robust_delta_e00",
        "reached",
        "limits",
        "choices",
    }
    assert all(keys <= zone.keys() for zone in document["zones"])
    assert document["zones"][0]["delta_e00"] == found.zones[0].delta_e00


def test_the_command_answers_in_words_and_writes_recipe_json(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["recipe", str(demo), "--own", "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "not reached" in said
    assert "choice:" in said
    assert json.loads((tmp_path / "out" / "recipe.json").read_text("utf-8"))["recipe"]["zones"]


def test_the_command_refuses_a_case_without_targets_in_a_sentence(
    demo: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = demo.read_text("utf-8")
    start = text.index("[target]")
    bare = demo.with_name("bare.toml")
    bare.write_text(text[:start] + text[text.index("[[powders]]") :], "utf-8")
    assert main(["recipe", str(bare)]) == 2
    assert "no zone has a target colour" in capsys.readouterr().err
