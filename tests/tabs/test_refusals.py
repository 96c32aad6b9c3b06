"""Tabs that can't tell are refused or marked, and the sentence says what to make."""

import numpy as np
import pytest
from tab_readings import AIR, FLUID, TWO_MM, optics_of, tabs_of

from firstbake.colour import lab_from_reflectance
from firstbake.errors import BadInput
from firstbake.powder import parametric_optics
from firstbake.tabs import LabTab, Tab, TabSet, identify, identify_from_lab


def test_a_tab_that_hides_its_tile_is_refused_with_band_and_thickness():
    with pytest.raises(BadInput, match=r"400 to \d+ nm.*0\.50 and 1\.00 mm"):
        identify(tabs_of("dentine", (3.0,), rng=np.random.default_rng(1)))
    with pytest.raises(BadInput, match=r"0\.10 and 0\.20 mm"):
        identify(tabs_of("opaque", (0.5,), rng=np.random.default_rng(1)))


def test_a_band_without_light_is_marked_and_its_truth_still_covered():
    strong = parametric_optics(2.7, 0.9, 0.0168, 4.8561, kg_per_mm=0.0123)
    found = identify(tabs_of("dentine", (0.5, 1.0), optics=strong, rng=np.random.default_rng(3)))
    assert 2 <= found.drawn_on.sum() <= 12
    assert found.drawn_on[0]
    assert any("no light gets through" in note for note in found.notes)
    off = np.abs(found.scattering_per_mm - strong.scattering_per_mm) / found.scattering_sd_per_mm
    assert off[found.drawn_on].max() < 2.5
    blue = found.scattering_sd_per_mm / found.scattering_per_mm
    assert blue[0] > 3 * blue[15]


def test_a_tab_outside_the_best_range_is_marked():
    notes = identify(tabs_of("transparent", (1.0,))).notes
    assert any("thicker" in note for note in notes)


def test_swapped_backings_and_impossible_readings_are_refused():
    right = tabs_of("dentine", (0.7,))
    tab = right.tabs[0]
    swapped = Tab(0.7, 0.02, tab.over_white, tab.over_black, FLUID)
    with pytest.raises(BadInput, match="swapped"):
        identify(TabSet((swapped,), right.black_tile, right.white_tile, right.geometry, "dentine"))
    with pytest.raises(BadInput, match="optical contact declared as air gap"):
        identify(tabs_of("transparent", (2.0,), contact=FLUID, declared=AIR))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"thickness_mm": 80.0}, "80 mm"),
        ({"thickness_sd_mm": 0.0}, "doubt"),
        ({"contact": "glue"}, "glue"),
        ({"over_black": np.full(31, 40.0)}, "percent"),
        ({"over_black": np.full(30, 0.4)}, "31"),
    ],
)
def test_a_tab_that_makes_no_sense_is_refused(change, told):
    given = {
        "thickness_mm": 1.0,
        "thickness_sd_mm": 0.02,
        "over_black": np.full(31, 0.3),
        "over_white": np.full(31, 0.5),
        "contact": FLUID,
    }
    with pytest.raises(BadInput, match=told):
        Tab(**{**given, **change})


@pytest.mark.parametrize("role", TWO_MM)
def test_three_bands_from_cielab_cover_the_truth_with_more_doubt(role):
    tabs, true = tabs_of(role, TWO_MM[role]), optics_of(role)

    def lab(spectrum):
        lightness, a, b = (float(v) for v in lab_from_reflectance(spectrum))
        return lightness, a, b

    given = tuple(
        LabTab(t.thickness_mm, t.thickness_sd_mm, lab(t.over_black), lab(t.over_white), FLUID)
        for t in tabs.tabs
    )
    found = identify_from_lab(
        given,
        black_tile=lab(tabs.black_tile),
        white_tile=lab(tabs.white_tile),
        geometry=tabs.geometry,
        role=role,
    )
    assert found.three_band
    assert "three-band" in found.notes[0]
    assert (
        np.abs(found.absorption_per_mm - true.absorption_per_mm) < 1.96 * found.absorption_sd_per_mm
    ).all()
    assert (
        np.abs(found.scattering_per_mm - true.scattering_per_mm) < 1.96 * found.scattering_sd_per_mm
    ).all()
    spectral = identify(tabs)
    assert np.median(found.absorption_sd_per_mm / spectral.absorption_sd_per_mm) > 1.5


def test_tabs_of_one_colour_over_both_tiles_give_no_three_bands():
    tab = LabTab(3.0, 0.02, (70.0, 1.0, 15.0), (70.5, 1.0, 15.0), FLUID)
    with pytest.raises(BadInput, match="too little"):
        identify_from_lab(
            (tab,), black_tile=(20.0, 0.0, 0.0), white_tile=(94.0, 0.0, 0.0), geometry="45/0", role="dentine"
        )
