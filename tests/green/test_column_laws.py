"""The column laws give the published closed forms, invert exactly and conserve mass."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from firstbake.errors import BadSum
from firstbake.green.laws import (
    column_height_mm,
    column_volume_mm,
    free_heights_mm,
    free_linear_shrinkage,
    green_heights_mm,
    usable_curvatures,
)

F = 1 / (1 - 0.381)
"""38.1 % volume shrinkage: Skinner and Phillips 1967, condensation by vibration."""

curvature = st.floats(-0.3, 2.0)
height = st.floats(1e-6, 2.5)


# Check values: closed forms for concentric bodies, worked separately by ring and shell volumes:
# cylinder sqrt(R² + f((R+t)² - R²)) - R, sphere cbrt(R³ + f((R+t)³ - R³)) - R,
# hollow R - sqrt(R² - f(R² - (R-t)²)).
@pytest.mark.parametrize(
    ("k1", "k2", "fired", "green"),
    [
        (0.0, 0.0, 1.0, 1.6155),
        (1 / 2, 0.0, 1.0, 1.4753),
        (1 / 4, 0.0, 1.5, 2.2467),
        (1 / 2, 1 / 2, 1.0, 1.3823),
        (1 / 4, 1 / 4, 1.5, 2.1215),
        (-1 / 2, 0.0, 0.5, 0.9170),
        (-1 / 3, 0.0, 1.0, 2.0396),
    ],
)
def test_check_rows_for_flat_cylinder_sphere_and_hollow(k1, k2, fired, green):
    found = green_heights_mm(np.array([[fired]]), [F], np.array([k1]), np.array([k2]))
    assert found[0, 0] == pytest.approx(green, abs=5.1e-5)


def test_free_body_shrinks_by_the_cube_root():
    assert free_linear_shrinkage(0.381) == pytest.approx(0.148, abs=5e-4)
    assert free_heights_mm(np.array([[2.0]]), [F])[0, 0] == pytest.approx(2.0 * F ** (1 / 3), rel=1e-14)


@given(height, curvature, curvature)
@example(t=1.0, k1=0.0, k2=-3.881036797432336e-11)  # hollow, but so little that it counts as flat
def test_height_undoes_volume(t, k1, k2):
    back = column_height_mm(column_volume_mm([t], k1, k2), k1, k2)
    assert back[0] == pytest.approx(t, rel=1e-11)


@given(st.lists(st.floats(0.0, 0.6), min_size=1, max_size=4), curvature, curvature, st.data())
def test_each_layer_keeps_its_mass(thicknesses, k1, k2, data):
    factors = data.draw(st.lists(st.floats(1.2, 1.9), min_size=len(thicknesses), max_size=len(thicknesses)))
    fired = np.cumsum(thicknesses)[:, None]
    a, b, _ = usable_curvatures(np.array([k1]), np.array([k2]), fired[-1], max(factors))
    for green, volume in (
        (green_heights_mm(fired, factors, a, b), lambda t: column_volume_mm(t, a, b)),
        (free_heights_mm(fired, factors), lambda t: t**3 / 3),
    ):
        before = np.diff(volume(fired)[:, 0], prepend=0.0) * factors
        after = np.diff(volume(green)[:, 0], prepend=0.0)
        assert np.allclose(after, before, rtol=1e-9, atol=1e-13)
        assert (np.diff(green[:, 0], prepend=0.0) >= -1e-13).all()


@given(height, curvature, curvature)
def test_more_fired_needs_more_green_and_never_less_than_fired(t, k1, k2):
    fired = np.array([[0.5 * t, t]])
    a, b, _ = usable_curvatures(np.full(2, k1), np.full(2, k2), np.full(2, t), F)
    green = green_heights_mm(fired, [F], a, b)
    assert green[0, 1] > green[0, 0]
    assert (green >= fired).all()


def test_nothing_in_gives_nothing_out():
    assert column_height_mm([0.0, -1.0], 0.3, 0.2).tolist() == [0.0, 0.0]
    tiny = green_heights_mm(np.array([[1e-12]]), [F], np.array([2.0]), np.array([2.0]))
    assert tiny[0, 0] == pytest.approx(F * 1e-12, rel=1e-9)


def test_a_hollow_too_small_for_its_powder_is_refused_and_can_be_opened():
    k1, k2, fired = np.array([-1.0, -0.1]), np.array([-1.0, 0.0]), np.array([0.9, 0.5])
    with pytest.raises(BadSum, match="hollows of the core"):
        green_heights_mm(fired[None], [F], k1, k2)
    a, b, reduced = usable_curvatures(k1, k2, fired, F)
    assert reduced.tolist() == [True, False]
    assert -1.0 < a[0] == b[0] < 0.0
    assert (a[1], b[1]) == (-0.1, 0.0)
    green = green_heights_mm(fired[None], [F], a, b)
    assert F * 0.9 < green[0, 0] < 1 / -a[0]
