"""The temperature curve of a bake."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstbake.firing import Programme, temperature_curve

BAKE = Programme(
    bake="main",
    purpose="Whole build.",
    dry_s=240.0,
    dry_degC=450.0,
    climb_K_per_min=45.0,
    peak_degC=900.0,
    low_degC=890.0,
    high_degC=910.0,
    hold_s=60.0,
    vacuum_from_degC=500.0,
    vacuum_to_degC=900.0,
    cool="Bench.",
    status="demo",
    source="test",
    cautions=(),
)


def test_the_corners_are_those_of_the_programme() -> None:
    # By hand: 450 K at 45 K/min is 10 min; 400 K at 20 K/min is 20 min.
    time_s, degC = temperature_curve(replace(BAKE, cool_K_per_min=20.0, cool_to_degC=500.0), start_degC=20.0)
    np.testing.assert_allclose(time_s, [0.0, 240.0, 840.0, 900.0, 2100.0])
    np.testing.assert_allclose(degC, [20.0, 450.0, 900.0, 900.0, 500.0])


def test_without_numbers_for_cooling_the_curve_ends_with_the_hold() -> None:
    time_s, degC = temperature_curve(BAKE)
    assert (time_s[-1], degC[-1]) == (900.0, 900.0)
    assert degC[0] == 25.0


def test_a_bake_without_drying_or_hold_begins_at_its_start_temperature() -> None:
    time_s, degC = temperature_curve(replace(BAKE, dry_s=0.0, hold_s=0.0))
    np.testing.assert_allclose(time_s, [0.0, 600.0])
    np.testing.assert_allclose(degC, [450.0, 900.0])


# Furnaces are set in whole seconds.
@given(st.integers(0, 2000), st.floats(1.0, 200.0), st.floats(500.0, 1200.0), st.integers(0, 600))
def test_time_only_runs_forward_and_the_climb_has_its_rate(
    dry_s: int, climb: float, peak: float, hold_s: int
) -> None:
    bake = replace(BAKE, dry_s=dry_s, climb_K_per_min=climb, peak_degC=peak, hold_s=hold_s)
    time_s, degC = temperature_curve(bake)
    assert (np.diff(time_s) > 0.0).all()
    assert degC.max() == peak
    top = int(np.argmax(degC))
    rate = (degC[top] - degC[top - 1]) / (time_s[top] - time_s[top - 1]) * 60.0
    assert rate == pytest.approx(climb, rel=1e-6)
