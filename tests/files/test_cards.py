"""Cards: what a good one gives, and that every bad one is refused with a sentence."""

import hashlib
import tomllib
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from firstbake.errors import BadCard
from firstbake.files.cards import (
    CardKind,
    cards_on_shelf,
    digest_of,
    find_card,
    read_core,
    read_powder,
)
from firstbake.powder import STATUSES, CoreMaterial, Figure, Powder

NOWHERE = Path(__file__).parent
WAVES = [float(nm) for nm in range(400, 701, 20)]

POWDER = """
name = "mine"
role = "dentine"
green_relative_density = { value = 0.60, unit = "1", status = "measured", source = "own coupon" }
fired_relative_density = { value = 0.97, unit = "1", status = "measured", source = "own coupon" }
solid_density_g_per_cm3 = { value = 2.45, unit = "g/cm3", status = "measured", source = "own coupon" }
[optics]
s550_per_mm = 3.2
p = 0.9
k0_per_mm = 0.0393
kb_per_mm = 0.6524
kg_per_mm = 0.0068
index = 1.5
status = "demo"
source = "invented"
[thermal]
expansion_ppm_per_K = { value = 9.5, unit = "1e-6/K", status = "demo", source = "invented" }
glass_transition_degC = { value = 585, unit = "degC", status = "demo", source = "invented" }
first_bake_degC = { value = 900, unit = "degC", status = "demo", source = "invented" }
"""

SPECTRA = f"""[optics]
wavelength_nm = {WAVES}
absorption_per_mm = {[0.7] + [0.05] * 15}
scattering_per_mm = {[4.3] + [3.2] * 15}
index = 1.52
status = "measured"
source = "own plates"
[thermal]"""
POWDER_WITH_SPECTRA = POWDER.split("[optics]")[0] + SPECTRA + POWDER.split("[thermal]")[1]

CORE = f"""
name = "mine"
kind = "metal"
beryllium = "none"
least_wall_mm = {{ value = 0.2, unit = "mm", status = "demo", source = "invented" }}
usual_wall_mm = {{ value = 0.3, unit = "mm", status = "demo", source = "invented" }}
most_unsupported_mm = {{ value = 2.0, unit = "mm", status = "demo", source = "invented" }}
[reflectance]
wavelength_nm = {WAVES}
reflectance = {[0.08] * 15 + [0.1]}
status = "demo"
source = "invented"
[thermal]
expansion_ppm_per_K = {{ value = 14.4, unit = "1e-6/K", status = "demo", source = "invented" }}
"""

BAKE = """
[[firing]]
bake = "main"
purpose = "whole build"
dry_s = 300
dry_degC = 450
climb_K_per_min = 40
peak_degC = 850
hold_s = 60
cool = "slow"
status = "measured"
source = "maker's sheet"
"""


@pytest.fixture
def card(tmp_path: Path) -> Callable[..., Path]:
    def write(text: str, *changes: tuple[str, str], name: str = "mine.toml") -> Path:
        for old, new in changes:
            assert old in text, f"the fault to plant is not in the card: {old}"
            text = text.replace(old, new, 1)
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_a_card_with_the_required_keys_alone_is_enough(card: Callable[..., Path]) -> None:
    powder = read_powder(card(POWDER))
    assert (powder.name, powder.role, powder.demo) == ("mine", "dentine", False)
    assert powder.volume_factor == pytest.approx(0.97 / 0.60)
    assert powder.least_mm.status == "common practice"
    assert powder.layer_mm is None
    assert powder.liquid_ml_per_g.value == pytest.approx(0.4 / (0.6 * 2.45))
    assert powder.slab_waste is None
    assert not powder.optics.scattering_per_mm.flags.writeable


def test_spectra_are_kept_as_written_and_read_only(card: Callable[..., Path]) -> None:
    optics = read_powder(card(POWDER_WITH_SPECTRA)).optics
    np.testing.assert_array_equal(optics.wavelength_nm, WAVES)
    np.testing.assert_array_equal(optics.absorption_per_mm, [0.7, *[0.05] * 15])
    assert (optics.index, optics.status, optics.source) == (1.52, "measured", "own plates")
    with pytest.raises(ValueError, match="read-only"):
        optics.scattering_per_mm[0] = 1.0


def test_a_core_card_keeps_its_own_bakes(card: Callable[..., Path]) -> None:
    core = read_core(card(CORE + BAKE))
    (bake,) = core.firing
    assert (bake.bake, bake.peak_degC, bake.low_degC, bake.high_degC) == ("main", 850.0, 850.0, 850.0)
    assert bake.vacuum_from_degC is None
    assert bake.source == "maker's sheet"
    assert core.reflectance is not None
    assert core.reflectance_status == "demo"


def test_a_card_from_an_editor_that_writes_a_byte_order_mark_is_read(card: Callable[..., Path]) -> None:
    assert read_powder(card("\ufeff" + POWDER)).name == "mine"


DENSITY = 'solid_density_g_per_cm3 = { value = 2.45, unit = "g/cm3"'
NO_LIGHT = CORE[CORE.index("[reflectance]") : CORE.index("[thermal]")]

BAD_POWDERS = [
    ("unknown key", ("green_relative", "green_relativ"), 'did you mean "green_relative_density"'),
    ("unknown key in a figure", ('unit = "1", status', 'unit = "1", statu'), 'did you mean "status"'),
    ("unknown key in optics", ("kb_per_mm", "kbb_per_mm"), 'did you mean "kb_per_mm"'),
    ("unknown thermal key", ("first_bake_degC", "first_bake_C"), 'did you mean "first_bake_degC"'),
    ("wrong unit", (DENSITY, DENSITY.replace("g/cm3", "g/ml")), 'unit is "g/ml", this figure is in "g/cm3"'),
    ("kg per m3", ("value = 2.45", "value = 2450"), "solid_density_g_per_cm3.value is 2450 g/cm3"),
    ("percent", ("value = 0.60", "value = 60"), "must be more than 0 and at most 1"),
    ("zero density", ("value = 0.60", "value = 0.0"), "green_relative_density.value is 0"),
    ("fired under green", ("value = 0.97", "value = 0.50"), "less than green_relative_density 0.6"),
    ("not a number", ("value = 0.60", "value = nan"), "green_relative_density.value is nan"),
    ("infinite", ("value = 9.5", "value = inf"), "must be a finite number"),
    ("whole number too long to hold", ("value = 9.5", "value = 1" + "0" * 400), "must be a finite number"),
    ("text for a number", ("value = 2.45", 'value = "2.45"'), "must be a number without quotes"),
    ("true for a number", ("value = 2.45", "value = true"), "must be a number without quotes"),
    (
        "negative thickness",
        (
            "[optics]",
            'least_mm = { value = -0.1, unit = "mm", status = "demo", source = "x" }\n[optics]',
        ),
        "least_mm.value is -0.1 mm",
    ),
    (
        "thin layer under the least",
        (
            "[optics]",
            'layer_mm = { value = 0.1, unit = "mm", status = "demo", source = "x" }\n[optics]',
        ),
        "less than least_mm 0.3 mm",
    ),
    ("bare value", ("first_bake_degC = {", "first_bake_degC = 900 #"), "a bare value; write it as a table"),
    ("no source", ('source = "own coupon"', 'source = " "'), "must be text in quotes and not empty"),
    ("unknown status", ('status = "measured"', 'status = "sure"'), 'is "sure", not one of measured'),
    (
        "range without its value",
        ('unit = "1"', 'unit = "1", low = 0.7, high = 0.8'),
        "outside its own range 0.7 to 0.8",
    ),
    ("unknown role", ('"dentine"', '"dentin"'), 'role is "dentin", not one of liner'),
    ("missing figure", (DENSITY, "#"), "solid_density_g_per_cm3 is missing"),
    ("missing thermal figure", ("glass_transition_degC", "#"), "thermal.glass_transition_degC is missing"),
    ("missing optics number", ("kg_per_mm", "#"), "optics.kg_per_mm is missing"),
    ("negative absorption", ("k0_per_mm = 0.0393", "k0_per_mm = -1"), "k0_per_mm is -1"),
    ("index under that of air", ("index = 1.5", "index = 0.9"), "optics.index is 0.9"),
    ("both kinds of optics", ("p = 0.9", "p = 0.9\nwavelength_nm = [400, 700]"), "not both"),
    (
        "price without a currency",
        (
            "[optics]",
            'price_per_g = { value = 3, unit = "EUR/g", status = "demo", source = "x" }\n[optics]',
        ),
        "currency is missing",
    ),
    ("demo as text", ('role = "dentine"', 'role = "dentine"\ndemo = "yes"'), "must be true or false"),
    ("core key on a powder card", ('role = "dentine"', 'kind = "metal"'), "kind is not a known key"),
    ("not TOML", ("[optics]", "[optics"), "is not valid TOML"),
    ("nested without end", ('name = "mine"', "name = " + "[" * 5000), "is not valid TOML"),
]


@pytest.mark.parametrize(("change", "words"), [b[1:] for b in BAD_POWDERS], ids=[b[0] for b in BAD_POWDERS])
def test_a_bad_powder_card_is_refused_in_words(
    card: Callable[..., Path], change: tuple[str, str], words: str
) -> None:
    path = card(POWDER, change)
    with pytest.raises(BadCard) as caught:
        read_powder(path)
    assert words in str(caught.value)
    assert "mine.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


BAD_SPECTRA = [
    ("lengths differ", ("[0.7, ", "["), "has 15 numbers and wavelength_nm 16"),
    ("not rising", ("420.0", "400.0"), "must rise"),
    ("too short", ("400.0", "410.0"), "runs from 410 to 700 nm"),
    ("gap", ("440.0", "430.0"), "has a gap of 30 nm"),
    ("negative", ("4.3", "-4.3"), "holds -4.3 per mm"),
    ("not finite", ("4.3", "nan"), "must be a list of finite numbers"),
    ("no list", ("[4.3, ", "4.3 #"), "must be a list of finite numbers"),
]


@pytest.mark.parametrize(("change", "words"), [b[1:] for b in BAD_SPECTRA], ids=[b[0] for b in BAD_SPECTRA])
def test_bad_spectra_are_refused_in_words(
    card: Callable[..., Path], change: tuple[str, str], words: str
) -> None:
    with pytest.raises(BadCard, match="optics") as caught:
        read_powder(card(POWDER_WITH_SPECTRA, change))
    assert words in str(caught.value)


BAD_CORES = [
    ("unknown kind", ('"metal"', '"steel"'), 'kind is "steel", not one of zirconia'),
    ("usual wall under the least", ("value = 0.3", "value = 0.1"), "less than least_wall_mm 0.2"),
    ("beryllium", ('beryllium = "none"', 'beryllium = "holds"'), "Choose an alloy without it"),
    ("beryllium listed", ('kind = "metal"', 'kind = "metal"\nholds = ["Beryllium"]'), "is in this alloy"),
    ("percent reflectance", ("0.08, 0.08", "8, 8"), "divide percentages by 100"),
    ("no light", (NO_LIGHT, ""), "reflectance is missing; a metal core needs [reflectance]"),
    ("reflectance of a ceramic", ('"metal"', '"zirconia"'), "give [optics]"),
    ("bake without a peak", ("peak_degC = 850", ""), "firing[1].peak_degC is missing"),
    ("peak outside its range", ("hold_s", "low_degC = 860\nhold_s"), "outside its own range 860 to 850"),
    ("half a vacuum", ("hold_s", "vacuum_from_degC = 500\nhold_s"), "belong together"),
    ("cools to over the peak", ("hold_s", "cool_to_degC = 900\nhold_s"), "over the peak"),
    ("dries over the peak", ("peak_degC = 850", "peak_degC = 440"), "not under the peak"),
    ("climb of nothing", ("climb_K_per_min = 40", "climb_K_per_min = 0"), "more than 0"),
    ("unknown key in a bake", ("hold_s", "holds_s"), 'did you mean "hold_s"'),
]


@pytest.mark.parametrize(("change", "words"), [b[1:] for b in BAD_CORES], ids=[b[0] for b in BAD_CORES])
def test_a_bad_core_card_is_refused_in_words(
    card: Callable[..., Path], change: tuple[str, str], words: str
) -> None:
    with pytest.raises(BadCard) as caught:
        read_core(card(CORE + BAKE, change))
    assert words in str(caught.value)


def test_what_is_not_a_card_file_is_refused_in_words(tmp_path: Path) -> None:
    binary = tmp_path / "binary.toml"
    binary.write_bytes(bytes(range(256)))
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"#" * 1_000_001)
    empty = tmp_path / "empty.toml"
    empty.touch()
    for path, words in (
        (tmp_path, "is a folder"),
        (tmp_path / "none.toml", "does not exist"),
        (binary, "is not text"),
        (huge, "is larger than"),
        (empty, "role is missing"),
    ):
        with pytest.raises(BadCard, match=words):
            read_powder(path)


def test_the_digest_is_that_of_the_bytes(card: Callable[..., Path]) -> None:
    path = card(POWDER)
    assert digest_of(path) == hashlib.sha256(POWDER.encode()).hexdigest()
    with pytest.raises(BadCard, match="cannot be read"):
        digest_of(path.with_name("none.toml"))


def figures_of(item: Powder | CoreMaterial) -> list[Figure]:
    own = [getattr(item, f.name) for f in fields(item)]
    return [v for v in own if isinstance(v, Figure)] + list(item.thermal.values())


@pytest.mark.parametrize("name", sorted(cards_on_shelf("powder", beside=NOWHERE)))
def test_every_powder_on_the_shelf_reads_with_status_and_source(name: str) -> None:
    powder = read_powder(find_card(name, kind="powder", beside=NOWHERE))
    assert powder.name == name
    assert powder.demo
    assert len(figures_of(powder)) >= 9
    assert all(f.status in STATUSES and f.source.strip() for f in figures_of(powder))
    assert powder.optics.status == "demo"
    assert powder.slab_waste is not None
    assert powder.slab_waste.value == 0.35


@pytest.mark.parametrize("name", sorted(cards_on_shelf("core", beside=NOWHERE)))
def test_every_core_on_the_shelf_reads_with_status_and_source(name: str) -> None:
    core = read_core(find_card(name, kind="core", beside=NOWHERE))
    assert core.name == name
    assert all(f.status in STATUSES and f.source.strip() for f in figures_of(core))
    assert (core.optics is None) == (core.kind == "metal")
    assert (core.reflectance is None) == (core.kind != "metal")
    assert core.grind_off_mm is not None
    assert core.contact_mm is not None
    assert (core.grind_off_mm.value, core.contact_mm.value) == (0.10, 0.15)


def test_the_shelf_holds_every_demo_powder_and_kind_of_core() -> None:
    powders = cards_on_shelf("powder", beside=NOWHERE)
    roles = ("liner-1", "opaque-1", "opaque-dentine-1", "enamel-1", "enamel-2", "transparent-1")
    assert {f"demo-{r}" for r in (*roles, "dentine-1", "dentine-2", "dentine-3")} <= set(powders)
    cores = cards_on_shelf("core", beside=NOWHERE).values()
    assert {read_core(p).kind for p in cores} == {"zirconia", "metal", "alumina", "glass-ceramic"}


def test_the_demo_dentine_shrinks_by_the_published_volume() -> None:
    # Skinner & Phillips 1967: 38.1 vol % on firing, so a bonded layer is built 1 / (1 - 0.381) as thick.
    powder = read_powder(find_card("demo-dentine-1", kind="powder", beside=NOWHERE))
    assert powder.volume_factor == pytest.approx(1.0 / (1.0 - 0.381), abs=5e-5)
    assert powder.volume_factor == pytest.approx(1.6155, abs=5e-5)


def test_a_powder_card_states_no_number_without_unit_status_and_source() -> None:
    for kind in ("powder", "core"):
        for path in cards_on_shelf(kind, beside=NOWHERE).values():  # type: ignore[arg-type]
            written = tomllib.loads(path.read_text(encoding="utf-8"))
            bare = [k for k, v in written.items() if isinstance(v, int | float) and not isinstance(v, bool)]
            assert bare == [], path.name


def test_a_nearer_shelf_wins(
    card: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    user, case = tmp_path / "user", tmp_path / "case"
    monkeypatch.setenv("FIRSTBAKE_SHELF", str(user))
    case.mkdir()
    built_in = find_card("demo-dentine-1", kind="powder", beside=case)
    (user / "powders").mkdir(parents=True)
    mine = user / "powders" / "demo-dentine-1.toml"
    mine.write_text(POWDER, encoding="utf-8")
    assert find_card("demo-dentine-1", kind="powder", beside=case) == mine != built_in
    (case / "shelf" / "powders").mkdir(parents=True)
    nearest = case / "shelf" / "powders" / "demo-dentine-1.toml"
    nearest.write_text(POWDER, encoding="utf-8")
    assert find_card("demo-dentine-1", kind="powder", beside=case / "case.toml") == nearest


def test_a_path_is_taken_relative_to_the_case_file(card: Callable[..., Path], tmp_path: Path) -> None:
    path = card(POWDER)
    case_file = tmp_path / "case.toml"
    assert find_card("mine.toml", kind="powder", beside=case_file) == path
    assert find_card(f"../{tmp_path.name}/mine.toml", kind="powder", beside=case_file).samefile(path)
    assert find_card(str(path), kind="powder", beside=NOWHERE) == path


@pytest.mark.parametrize(
    ("name", "kind", "words"),
    [
        (
            "zircona",
            "core",
            'no core card is named "zircona"; did you mean "zirconia"? On the shelf: alumina',
        ),
        ("demo-dentin-1", "powder", 'did you mean "demo-dentine-1"?'),
        ("zirconia", "powder", "is a core card and a powder card is needed"),
        ("!", "powder", 'is named "!". On the shelf: demo-dentine-1'),
        ("none.toml", "powder", "does not exist beside the case file"),
        ("a\0b/", "powder", "does not exist beside the case file"),
        ("x" * 9000 + "/", "core", "does not exist beside the case file"),
    ],
)
def test_an_unknown_card_is_refused_naming_what_there_is(name: str, kind: CardKind, words: str) -> None:
    with pytest.raises(BadCard) as caught:
        find_card(name, kind=kind, beside=NOWHERE)
    assert words in str(caught.value)
