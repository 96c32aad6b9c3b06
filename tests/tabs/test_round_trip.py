"""Without noise, what went in comes out."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tab_readings import AIR, FLUID, FORTY_FIVE, NM, ONE_MM, POWDERS, SPEX, SPIN, TWO_MM, optics_of, tabs_of

from firstbake.powder import Optics
from firstbake.tabs import Tab, TabSet, identify, under_tab


@pytest.mark.parametrize("geometry", [SPEX, SPIN, FORTY_FIVE])
@pytest.mark.parametrize("contact", [FLUID, AIR])
@pytest.mark.parametrize("role", POWDERS)
def test_every_powder_comes_back_from_one_tab_and_from_two(role, contact, geometry):
    true = optics_of(role)
    for sizes in ((ONE_MM[role],), TWO_MM[role]):
        found = identify(tabs_of(role, sizes, contact=contact, geometry=geometry))
        seen = ~found.drawn_on
        assert seen.sum() >= 18
        np.testing.assert_allclose(found.scattering_per_mm[seen], true.scattering_per_mm[seen], rtol=1e-9)
        np.testing.assert_allclose(found.absorption_per_mm[seen], true.absorption_per_mm[seen], rtol=1e-9)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.floats(np.log(1e-4), np.log(0.15)),
    st.floats(np.log(0.7), np.log(25.0)),
    st.floats(0.5, 1.5),
    st.sampled_from([FLUID, AIR]),
)
def test_the_whole_range_of_absorption_and_scattering_comes_back(log_k, log_s, optical, contact):
    k, s = float(np.exp(log_k)), float(np.exp(log_s))
    flat = Optics(NM, np.full(31, k), np.full(31, s), 1.5, "demo", "invented")
    mm = float(np.clip(optical / s, 0.03, 3.0))
    found = identify(tabs_of("dentine", (mm,), contact=contact, optics=flat, sd_mm=0.1 * mm))
    assert not found.drawn_on.any()
    np.testing.assert_allclose(found.scattering_per_mm, s, rtol=1e-9)
    np.testing.assert_allclose(found.absorption_per_mm, k, rtol=1e-9, atol=1e-9)


def test_a_black_tile_is_never_nought():
    """Figures worked out elsewhere: 0.03 is 0.074 inside with fluid, 0.607 with air; 0.87 is 0.960, 0.943."""
    tab = Tab(1.0, 0.02, np.full(31, 0.4), np.full(31, 0.5), FLUID)
    tabs = TabSet((tab,), np.full(31, 0.03), np.full(31, 0.87), SPEX, "dentine")
    for tile, contact, expected in (
        (0.03, FLUID, 0.074),
        (0.03, AIR, 0.607),
        (0.87, FLUID, 0.960),
        (0.87, AIR, 0.943),
    ):
        assert float(under_tab(tile, tabs, contact=contact)) == pytest.approx(expected, abs=6e-4)


def test_a_known_pair_of_readings_gives_its_known_answer():
    """K 0.02, S 0.7, 1 mm: worked out with the hyperbolic form in the test's own helper."""
    flat = Optics(NM, np.full(31, 0.02), np.full(31, 0.7), 1.5, "demo", "invented")
    found = identify(tabs_of("enamel", (1.0,), optics=flat))
    np.testing.assert_allclose(found.absorption_per_mm, 0.02, rtol=1e-11)
    np.testing.assert_allclose(found.scattering_per_mm, 0.7, rtol=1e-11)
