"""The sequence of bakes."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstbake.errors import BadSum
from firstbake.firing import Programme, default_sequence, drying_s
from firstbake.powder import STATUSES, CoreMaterial, Figure, MakerBake, Powder

MakePowder = Callable[..., Powder]
MakeCore = Callable[..., CoreMaterial]

ROOM_MM = np.array([0.8, 1.5, 1.2])
KINDS = ("metal", "zirconia", "alumina", "glass-ceramic")


def by_name(bakes: tuple[Programme, ...]) -> dict[str, Programme]:
    return {bake.bake: bake for bake in bakes}


@pytest.mark.parametrize(
    ("kind", "roles", "bakes"),
    [
        ("metal", ["opaque", "dentine", "enamel"], "oxidise wash opaque main correction glaze"),
        ("metal", ["opaque", "margin", "dentine"], "oxidise wash opaque margin main correction glaze"),
        ("metal", ["dentine"], "oxidise main correction glaze"),
        ("zirconia", ["liner", "dentine", "enamel"], "liner main correction glaze"),
        ("zirconia", ["dentine"], "main correction glaze"),
        ("alumina", ["dentine", "enamel"], "main correction glaze"),
        ("glass-ceramic", ["enamel"], "main correction glaze"),
    ],
)
def test_the_bakes_follow_core_and_powders(
    core: MakeCore, powder: MakePowder, kind: str, roles: list[str], bakes: str
) -> None:
    sequence = default_sequence(core(kind), tuple(powder(r) for r in roles), ROOM_MM)
    assert [bake.bake for bake in sequence] == bakes.split()


@pytest.mark.parametrize("kind", KINDS)
def test_every_bake_is_whole(core: MakeCore, powder: MakePowder, kind: str) -> None:
    roles = ("liner", "opaque", "margin", "dentine", "enamel")
    for bake in default_sequence(core(kind), tuple(powder(r) for r in roles), ROOM_MM):
        assert bake.status in STATUSES
        assert bake.source
        assert bake.purpose.endswith(".")
        assert bake.cool.endswith(".")
        assert bake.cautions
        assert bake.low_degC <= bake.peak_degC <= bake.high_degC
        assert bake.dry_degC < bake.peak_degC
        assert bake.hold_s > 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_correction_is_5_to_20_K_cooler_and_the_glaze_under_it_in_air(
    core: MakeCore, powder: MakePowder, kind: str
) -> None:
    bakes = by_name(default_sequence(core(kind), (powder("dentine"),), ROOM_MM))
    less_K = bakes["main"].peak_degC - bakes["correction"].peak_degC
    assert 5.0 <= less_K <= 20.0
    assert bakes["glaze"].peak_degC < bakes["correction"].peak_degC
    assert bakes["glaze"].vacuum_from_degC is None
    assert bakes["glaze"].vacuum_to_degC is None
    assert bakes["main"].vacuum_to_degC == bakes["main"].peak_degC


def test_peaks_come_from_the_cards(core: MakeCore, powder: MakePowder) -> None:
    powders = (powder("dentine", bake_degC=885.0), powder("enamel"), powder("opaque", bake_degC=955.0))
    bakes = by_name(default_sequence(core("metal"), powders, ROOM_MM))
    assert (bakes["main"].peak_degC, bakes["main"].low_degC, bakes["main"].high_degC) == (885.0, 875.0, 900.0)
    assert "my-dentine" in bakes["main"].source
    assert bakes["opaque"].peak_degC == 955.0
    assert bakes["wash"].peak_degC == 965.0
    assert any("my-enamel asks for 905" in caution for caution in bakes["main"].cautions)


@pytest.mark.parametrize(
    ("kind", "least", "most"),
    [("metal", 900.0, 930.0), ("zirconia", 800.0, 930.0), ("alumina", 900.0, 930.0)],
)
def test_without_a_card_the_peak_is_the_usual_one(
    core: MakeCore, powder: MakePowder, kind: str, least: float, most: float
) -> None:
    # Common practice: about 920 degC on metal, 800 to 930 degC on zirconia by the glass.
    main = by_name(default_sequence(core(kind), (powder("dentine", bake_degC=None),), ROOM_MM))["main"]
    assert least <= main.peak_degC <= most
    assert main.status in ("common practice", "from memory, unverified")
    assert (main.low_degC, main.high_degC) == (least, most)


def test_a_core_card_with_its_own_bakes_wins(core: MakeCore, powder: MakePowder) -> None:
    own = MakerBake(
        bake="main",
        purpose="Whole build.",
        dry_s=333.0,
        dry_degC=400.0,
        climb_K_per_min=30.0,
        peak_degC=777.0,
        low_degC=770.0,
        high_degC=780.0,
        hold_s=45.0,
        vacuum_from_degC=450.0,
        vacuum_to_degC=776.0,
        cool="Slow to 400 °C.",
        status="published",
        source="the maker's sheet",
    )
    (bake,) = default_sequence(core("zirconia", firing=(own,)), (powder("dentine"),), ROOM_MM)
    for name in ("bake", "dry_s", "peak_degC", "low_degC", "vacuum_to_degC", "cool", "status", "source"):
        assert getattr(bake, name) == getattr(own, name)
    assert any("Nothing wet" in caution for caution in bake.cautions)


@given(st.floats(0.1, 20.0), st.floats(1.0, 5.0))
def test_drying_grows_with_the_square_of_the_thickness(thickness_mm: float, times: float) -> None:
    assert drying_s(1.5) == 240.0  # common practice: 4 min at 1.5 mm
    assert drying_s(times * thickness_mm) == pytest.approx(times**2 * drying_s(thickness_mm))


def test_the_thickest_place_sets_the_drying(core: MakeCore, powder: MakePowder) -> None:
    def dry_s(*thickness_mm: float) -> float:
        room = np.array(thickness_mm)
        return by_name(default_sequence(core("metal"), (powder("dentine"),), room))["main"].dry_s

    assert dry_s(1.5, 0.4) == 240.0
    assert dry_s(0.4, 3.0, np.nan) == 960.0
    assert dry_s(0.5) == 240.0  # thin work is dried 4 min too
    assert dry_s(2.0) == 450.0  # 426.7 s, set in half minutes


def test_no_known_thickness_is_refused(core: MakeCore, powder: MakePowder) -> None:
    with pytest.raises(BadSum, match="no thickness of porcelain"):
        default_sequence(core("metal"), (powder("dentine"),), np.array([np.nan]))


def test_zirconia_cools_slowly_to_below_the_glass_transition_and_shows_both_sides(
    core: MakeCore, powder: MakePowder
) -> None:
    powders = (powder("dentine", transition_degC=571.0), powder("enamel", transition_degC=590.0))
    main = by_name(default_sequence(core("zirconia"), powders, ROOM_MM))["main"]
    assert main.cool_to_degC is not None
    assert 450.0 <= main.cool_to_degC < 571.0
    assert "560" in main.cool
    both = " ".join(main.cautions)
    assert "Paula et al. 2014" in both
    assert "Al-Amleh et al. 2014" in both
    assert "Tang et al." in both
    bench = by_name(default_sequence(core("metal"), powders, ROOM_MM))["main"]
    assert "Paula" not in " ".join(bench.cautions)
    assert bench.cool.startswith("Bench")


def test_a_noble_alloy_is_held_longer_than_a_base_metal(core: MakeCore, powder: MakePowder) -> None:
    noble, base = (
        default_sequence(core("metal", holds=holds), (powder("dentine"),), ROOM_MM)[0]
        for holds in ((), ("cobalt", "chromium"))
    )
    assert noble.hold_s > base.hold_s
    assert noble.vacuum_from_degC is base.vacuum_from_degC is None


def test_a_bake_over_what_the_core_stands_says_so(core: MakeCore, powder: MakePowder) -> None:
    most = Figure(820.0, "degC", "demo", "test")
    glass = core("glass-ceramic", thermal={"most_bake_degC": most})
    hot = by_name(default_sequence(glass, (powder("dentine", bake_degC=905.0),), ROOM_MM))
    assert all("over the 820 °C" in bake.cautions[0] for bake in hot.values())
    cool = default_sequence(glass, (powder("dentine", bake_degC=770.0),), ROOM_MM)
    assert not any("over the 820" in caution for bake in cool for caution in bake.cautions)
