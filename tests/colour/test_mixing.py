"""Mixes by volume share, and the correction of one fired mixed tab."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_powders import optics_of

from firstbake.colour import MixCorrection, correction_from_tab, mixed_optics, volume_shares
from firstbake.errors import BadInput
from firstbake.powder import Optics

NAMES = ("light", "deep")
PAIR = (optics_of("dentine 1"), optics_of("dentine chroma"))
TAB = MixCorrection(NAMES, (0.3, 0.7), np.full(31, 1.2), np.full(31, 0.9), "one tab")


def test_shares_go_by_volume_and_not_by_mass():
    """2 g of 2.5 g/cm3 are 0.8 cm3, 1 g of 5 g/cm3 is 0.2 cm3."""
    np.testing.assert_allclose(volume_shares([2.0, 1.0], [2.5, 5.0]), [0.8, 0.2])
    for mass, density in (([0.0, 0.0], [2.0, 2.0]), ([-1.0, 2.0], [2.0, 2.0]), ([1.0], [0.0])):
        with pytest.raises(BadInput):
            volume_shares(mass, density)


def test_a_mix_is_the_straight_sum_without_a_tab():
    found = mixed_optics(PAIR, (0.25, 0.75))
    np.testing.assert_allclose(
        found.absorption_per_mm, 0.25 * PAIR[0].absorption_per_mm + 0.75 * PAIR[1].absorption_per_mm
    )
    assert "volume share" in found.source
    with pytest.raises(BadInput):
        mixed_optics(PAIR, (0.5, 0.6))


@settings(max_examples=50, deadline=None, derandomize=True)
@given(st.floats(0.0, 1.0))
def test_the_correction_is_whole_at_the_tab_nothing_at_pure_powders_and_between_in_between(share):
    mix = (share, 1.0 - share)
    plain = mixed_optics(PAIR, mix)
    found = mixed_optics(PAIR, mix, names=NAMES, corrections=(TAB,))
    ratio = found.absorption_per_mm / plain.absorption_per_mm
    assert (ratio >= 1 - 1e-12).all()
    weight = min(share / 0.3, (1 - share) / 0.7)
    straight = mixed_optics(PAIR, TAB.share)
    np.testing.assert_allclose(
        found.scattering_per_mm, plain.scattering_per_mm - 0.1 * weight * straight.scattering_per_mm
    )


def test_pure_powders_keep_theirs_and_the_tab_comes_back():
    for mix, own in (((1.0, 0.0), PAIR[0]), ((0.0, 1.0), PAIR[1])):
        found = mixed_optics(PAIR, mix, names=NAMES, corrections=(TAB,))
        np.testing.assert_allclose(found.absorption_per_mm, own.absorption_per_mm)
    plain = mixed_optics(PAIR, (0.4, 0.6))
    fired = Optics(
        plain.wavelength_nm,
        1.3 * plain.absorption_per_mm,
        0.8 * plain.scattering_per_mm,
        1.5,
        "measured",
        "tab",
    )
    stored = correction_from_tab(fired, PAIR, (0.4, 0.6), names=NAMES)
    again = mixed_optics(PAIR, (0.4, 0.6), names=NAMES, corrections=(stored,))
    np.testing.assert_allclose(again.absorption_per_mm, fired.absorption_per_mm, rtol=1e-12)
    np.testing.assert_allclose(again.scattering_per_mm, fired.scattering_per_mm, rtol=1e-12)


def test_a_tab_of_something_else_is_refused_as_a_correction():
    with pytest.raises(BadInput, match="not this mix"):
        correction_from_tab(optics_of("opaque mid"), PAIR, (0.5, 0.5), names=NAMES)


def test_a_mix_carries_the_doubt_of_its_powders_and_of_the_law_where_no_tab_speaks():
    pair = [
        replace(
            o,
            status="measured",
            absorption_sd_per_mm=0.03 * o.absorption_per_mm,
            scattering_sd_per_mm=0.02 * o.scattering_per_mm,
        )
        for o in PAIR
    ]
    straight = mixed_optics(pair, TAB.share, names=NAMES)
    fired = mixed_optics(pair, TAB.share, names=NAMES, corrections=(TAB,))
    own = np.hypot(0.3 * pair[0].scattering_sd_per_mm, 0.7 * pair[1].scattering_sd_per_mm)
    np.testing.assert_allclose(fired.scattering_sd_per_mm, own)
    np.testing.assert_allclose(straight.scattering_sd_per_mm, np.hypot(own, 0.1 * straight.scattering_per_mm))
    assert (fired.status, straight.status) == ("measured", "fitted")
    assert mixed_optics([pair[0], PAIR[1]], TAB.share).absorption_sd_per_mm is None
