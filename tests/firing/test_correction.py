"""Correction bakes: found by heat work, shown by firing forward, and told when there is none."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstbake.files import find_card, read_core, read_powder
from firstbake.firing import (
    EDGE_LIMIT_UM,
    RIPE,
    body_powder,
    bonded_density,
    correction_range,
    default_sequence,
    firing_report,
    ripening_of,
    work_of,
)


@pytest.fixture(scope="module")
def demo():
    """The demo case's pair: tinted zirconia and its dentine."""
    core = read_core(find_card("zirconia-tinted", kind="core", beside=Path(__file__).parent))
    powder = read_powder(find_card("demo-dentine-3", kind="powder", beside=Path(__file__).parent))
    return default_sequence(core, (powder,), np.array([2.0])), powder


def by_name(bakes):
    return {bake.bake: bake for bake in bakes}


def test_the_demos_correction_ripens_the_addition_and_keeps_the_edges(demo):
    bakes, powder = by_name(demo[0]), demo[1]
    ripening, green = ripening_of(powder), powder.green_relative_density.value
    first, again = work_of(bakes["main"], ripening), work_of(bakes["correction"], ripening)
    assert bonded_density(green, again) >= RIPE
    assert ripening.rounding_um(first + again) <= EDGE_LIMIT_UM
    assert bakes["main"].peak_degC - 20 <= bakes["correction"].peak_degC <= bakes["main"].peak_degC - 5
    assert "by heat work" in bakes["correction"].source


def test_the_ends_of_the_range_do_just_that(demo):
    bakes, powder = by_name(demo[0]), demo[1]
    ripening, green = ripening_of(powder), powder.green_relative_density.value
    before = work_of(bakes["main"], ripening)
    found = correction_range(bakes["correction"], ripening, green=green, work_before=before)
    assert found.exists
    least = work_of(replace(bakes["correction"], peak_degC=found.least_degC), ripening)
    most = work_of(replace(bakes["correction"], peak_degC=found.most_degC), ripening)
    assert bonded_density(green, least) == pytest.approx(RIPE, abs=2e-4)
    assert ripening.rounding_um(before + most) == pytest.approx(EDGE_LIMIT_UM, abs=0.05)


def test_where_no_top_does_both_it_says_so(demo):
    bakes, powder = by_name(demo[0]), demo[1]
    ripening, green = ripening_of(powder), powder.green_relative_density.value
    narrow = correction_range(bakes["correction"], ripening, green=green, work_before=5.0, limit_um=14.0)
    assert not narrow.exists
    assert "No top does both" in narrow.words
    spent = correction_range(bakes["correction"], ripening, green=green, work_before=20.0)
    assert not spent.exists
    assert "gone back 44 µm" in spent.words


def test_the_report_adds_the_bakes_up(demo):
    report = firing_report(demo[0], demo[1], thickness_mm=2.0)
    assert [bake.bake for bake in report.bakes] == ["main", "correction", "glaze"]
    assert np.cumsum([b.work for b in report.bakes]) == pytest.approx([b.work_total for b in report.bakes])
    main = report.bakes[0]
    assert main.stage == "ripe"
    assert main.thermometer[-10.0] < main.thermometer[-5.0] < main.density_bonded < main.thermometer[10.0]
    assert main.hotter_hold_s < 60 < main.cooler_hold_s
    hotter = replace(by_name(demo[0])["main"], peak_degC=910.0, hold_s=main.hotter_hold_s)
    assert work_of(hotter, report.ripening) == pytest.approx(main.work, rel=2e-3)


def test_a_stiff_powder_is_told_to_be_under_fired(demo):
    bakes, powder = demo
    transition = replace(powder.thermal["glass_transition_degC"], value=660.0, low=650.0, high=670.0)
    stiff = replace(powder, thermal={**powder.thermal, "glass_transition_degC": transition})
    report = firing_report(bakes, stiff, thickness_mm=2.0)
    assert report.bakes[0].stage in ("raw", "under-fired")
    assert any("fired discs" in note for note in report.notes)
    assert body_powder((stiff,)) is stiff


def test_a_powder_that_no_top_ripens_has_no_correction(demo):
    bakes, powder = by_name(demo[0]), demo[1]
    transition = replace(powder.thermal["glass_transition_degC"], value=760.0, low=750.0, high=770.0)
    stiff = replace(powder, thermal={**powder.thermal, "glass_transition_degC": transition})
    found = correction_range(
        bakes["correction"],
        ripening_of(stiff),
        green=stiff.green_relative_density.value,
        work_before=work_of(bakes["main"], ripening_of(stiff)),
    )
    assert found.least_degC is None
    assert not found.exists
    assert "No correction ripens" in found.words
