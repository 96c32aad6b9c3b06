"""A mix of two powders named in the case file is laid with what its fired mixed tab taught."""

import json
import sys
from pathlib import Path

import numpy as np
import pytest

from firstbake.cli import main
from firstbake.errors import BadCard
from firstbake.files import read_case, write_ply, write_stl
from firstbake.files.mixed_card import named_mix
from firstbake.powder import parametric_optics
from firstbake.teeth import Tooth, generate_crown, usual_sizes

sys.path.insert(0, str(Path(__file__).parents[1] / "files"))
from tab_text import columns, text_of

MIX = "mix of demo-dentine-1 and demo-dentine-3 70:30"
# what the invented mixed tab is made of: not the straight sum, which is 3.11 and 0.04, 0.96
TAB = (2.6, 0.9, 0.055, 1.4)
CASE = f"""\
[case]
code = "TEST-MIX"
tooth = "11"
demo = true

[meshes]
core = "core.stl"
contour = "contour.ply"

[core]
material = "zirconia"

[target]
body = [75.2, 1.3, 16.3]

[[powders]]
card = "{MIX}"

[[powders]]
card = "demo-enamel-2"
"""


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FIRSTBAKE_SHELF", str(tmp_path / "own"))
    return tmp_path


@pytest.fixture
def bench(shelf):
    crown = generate_crown(Tooth("11"), usual_sizes(Tooth("11")), triangles=2000)
    write_stl(Path("core.stl"), crown.core)
    write_ply(Path("contour.ply"), crown.contour)
    Path("case.toml").write_text(CASE, "utf-8")
    return shelf


def store_tab():
    Path("mix.csv").write_text(text_of(columns(numbers=TAB)), "utf-8")
    parts = ["--part", "demo-dentine-1=7", "--part", "demo-dentine-3=3"]
    assert main(["shelf", "add-mix", "mix.csv", *parts]) == 0


def recipe_of(capsys, out):
    assert main(["recipe", "case.toml", "--own", "--json", "--out", out]) in (0, 1)
    capsys.readouterr()
    return json.loads(Path(out, "recipe.json").read_text("utf-8"))


def test_the_recipe_lays_the_mix_and_the_tab_changes_its_colour(bench, capsys):
    before = recipe_of(capsys, "before")
    assert MIX in before["recipe"]["powders"]
    assert any("straight sum" in r["sentence"] for r in before["repairs"] if r["file"] == MIX)
    assert {"demo-dentine-1", "demo-dentine-3"} <= set(before["inputs"])
    store_tab()
    after = recipe_of(capsys, "after")
    assert any("counts for 100%" in r["sentence"] for r in after["repairs"] if r["file"] == MIX)
    assert "demo-dentine-1+demo-dentine-3.toml" in after["inputs"]
    body = [next(z for z in doc["recipe"]["zones"] if z["zone"] == "body") for doc in (before, after)]
    assert body[0]["lab"] != body[1]["lab"]
    assert MIX in {name for name, _ in body[1]["layers_mm"]}
    assert body[1]["optics_doubt"][MIX].startswith("10% assumed")
    assert body[1]["band_delta_e00"][1] == pytest.approx(
        body[1]["delta_e00"] + body[1]["difference_doubt_delta_e00"]
    )


def test_the_mix_is_optically_the_fired_tab_and_weighs_what_its_parts_weigh(bench):
    store_tab()
    mix = read_case(Path("case.toml")).case.powders[0]
    true = parametric_optics(*TAB)
    np.testing.assert_allclose(mix.optics.scattering_per_mm, true.scattering_per_mm, rtol=1e-3)
    np.testing.assert_allclose(mix.optics.absorption_per_mm, true.absorption_per_mm, rtol=1e-2)
    assert (mix.name, mix.role, mix.demo) == (MIX, "dentine", True)
    # mass balance by hand: 7 g and 3 g, their solid, green and fired volumes added up
    from firstbake.files import find_card, read_powder

    cards = [read_powder(find_card(f"demo-dentine-{k}", kind="powder", beside=bench)) for k in (1, 3)]
    grams = (7.0, 3.0)
    solid = [g / c.solid_density_g_per_cm3.value for g, c in zip(grams, cards, strict=True)]
    green = sum(v / c.green_relative_density.value for v, c in zip(solid, cards, strict=True))
    fired = [v / c.fired_relative_density.value for v, c in zip(solid, cards, strict=True)]
    assert mix.solid_density_g_per_cm3.value == pytest.approx(10.0 / sum(solid))
    assert mix.green_relative_density.value == pytest.approx(sum(solid) / green)
    assert mix.fired_density_g_per_cm3 == pytest.approx(10.0 / sum(fired))
    expansion = [c.thermal["expansion_ppm_per_K"].value for c in cards]
    assert mix.thermal["expansion_ppm_per_K"].value == pytest.approx(
        (fired[0] * expansion[0] + fired[1] * expansion[1]) / sum(fired)
    )


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("mix of demo-dentine-1 70:30", "does not name a mix"),
        ("mix of demo-dentine-1 and demo-dentine-1 1:1", "two different cards"),
        ("mix of demo-dentine-1 and demo-dentine-3 1:0", "two parts over 0"),
        ("mix of demo-dentine-1 and demo-dentin-3 1:1", 'did you mean "demo-dentine-3"'),
        ("mix of demo-liner-1 and demo-dentine-1 1:1", "fired before the build"),
    ],
)
def test_what_is_no_mix_is_refused_in_one_sentence(shelf, name, told):
    with pytest.raises(BadCard, match=told):
        named_mix(name, beside=shelf)


def test_a_case_may_name_its_parts_with_decimal_commas(shelf):
    found = named_mix("Mix of demo-dentine-1 and demo-dentine-3 2,5 : 1", beside=shelf)
    assert found.powder.name == "mix of demo-dentine-1 and demo-dentine-3 2.5:1"
