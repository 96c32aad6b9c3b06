"""One layer and stacks of layers give the light that the two-flux equations give."""

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstbake.colour import (
    LowerEnd,
    Stack,
    layer,
    over,
    reflectance_slope,
    reflectance_within,
    thick_reflectance,
)

DIGITS = 50


def exact_layer(k: float, s: float, d: float) -> tuple[mpmath.mpf, mpmath.mpf]:
    """R and T from the hyperbolic form of Kubelka 1948 in 50-digit arithmetic, another form than ours."""
    with mpmath.workdps(DIGITS):
        k, s, d = mpmath.mpf(k), mpmath.mpf(s), mpmath.mpf(d)
        rate = mpmath.sqrt(k * (k + 2 * s))
        if rate == 0:
            return s * d / (1 + s * d), 1 / (1 + s * d)
        below = rate * mpmath.cosh(rate * d) + (k + s) * mpmath.sinh(rate * d)
        return s * mpmath.sinh(rate * d) / below, rate / below


def random_layers() -> list[tuple[float, float, float]]:
    """1000 layers over many powers of ten, with the limits among them."""
    random = np.random.default_rng(7)
    k = 10 ** random.uniform(-14, 2, 1000)
    s = 10 ** random.uniform(-10, 3, 1000)
    d = 10 ** random.uniform(-6, 1, 1000)
    k[:8], s[8:16], d[16:24] = 0.0, 0.0, 0.0
    k[24:28] = s[24:28] = 0.0
    return list(zip(k, s, d, strict=True))


def test_a_layer_agrees_with_50_digit_arithmetic_to_1e_12() -> None:
    cases = random_layers()
    r, t = layer(*np.array(cases).T)
    for (k, s, d), found_r, found_t in zip(cases, r, t, strict=True):
        exact_r, exact_t = exact_layer(k, s, d)
        assert float(abs(found_r - exact_r)) <= 1e-12 * float(exact_r), (k, s, d)
        if exact_t > 1e-290:
            assert float(abs(found_t - exact_t)) <= 1e-12 * float(exact_t), (k, s, d)


@pytest.mark.parametrize(
    ("k", "s", "d", "r", "t"),
    [
        # closed forms: no absorption R = Sd/(1+Sd); no scattering T = exp(-Kd); no thickness
        (0.0, 2.0, 1.5, 0.75, 0.25),
        (0.7, 0.0, 1.5, 0.0, 0.3499377491111553),
        (0.7, 2.0, 0.0, 0.0, 1.0),
        # 60-digit reference value
        (0.2, 1.5, 1.0, 0.5163951036, 0.3101101979),
    ],
)
def test_a_layer_meets_its_limits(k: float, s: float, d: float, r: float, t: float) -> None:
    found_r, found_t = layer(k, s, d)
    assert float(found_r) == pytest.approx(r, abs=1e-10)
    assert float(found_t) == pytest.approx(t, abs=1e-10)


def test_an_endless_layer_with_half_as_much_absorption_as_scattering_reflects_the_known_share() -> None:
    # R = 1 + K/S - sqrt((K/S)^2 + 2 K/S) = (3 - sqrt 5) / 2 at K/S = 1/2
    assert float(thick_reflectance(0.5, 1.0)) == pytest.approx((3 - 5**0.5) / 2, rel=1e-15)
    assert float(layer(0.5, 1.0, 100.0)[0]) == pytest.approx((3 - 5**0.5) / 2, rel=1e-14)
    assert float(thick_reflectance(0.0, 0.0)) == 0.0


def test_a_layer_over_a_bright_ground_gives_the_known_value() -> None:
    assert float(over(*layer(0.2, 1.5, 1.0), 0.8)) == pytest.approx(0.6474851976, abs=1e-10)


def three_layers() -> Stack:
    k = np.array([[0.05], [0.15], [0.05]])
    s = np.array([[25.0], [2.5], [1.0]])
    return Stack(k, s, (1.5, 1.5, 1.5), LowerEnd(np.array([0.35]), None))


def test_three_layers_give_the_known_reflectance_and_slope() -> None:
    # values from 60-digit arithmetic, bottom up
    thickness = np.array([0.2, 0.8, 0.4])
    assert reflectance_within(three_layers(), thickness)[0] == pytest.approx(0.742515969255, abs=1e-12)
    slope = reflectance_slope(three_layers(), thickness)[:, 0]
    assert slope == pytest.approx([0.1439176, -0.0490951, -0.0079536], abs=5e-8)


def test_the_slope_agrees_with_finite_differences_across_faces() -> None:
    random = np.random.default_rng(3)
    stack = Stack(
        random.uniform(0.01, 0.5, (4, 31)),
        random.uniform(0.3, 20.0, (4, 31)),
        (2.2, 1.5, 1.5, 1.52),
        LowerEnd(random.uniform(0.1, 0.6, 31), 1.54),
    )
    thickness = random.uniform(0.1, 1.0, (5, 4))
    slope = reflectance_slope(stack, thickness)
    step = 1e-5
    for j in range(4):
        up, down = thickness.copy(), thickness.copy()
        up[:, j] += step
        down[:, j] -= step
        numeric = (reflectance_within(stack, up) - reflectance_within(stack, down)) / (2 * step)
        assert slope[:, j] == pytest.approx(numeric, abs=2e-8)


def test_a_stack_without_faces_agrees_with_the_transfer_matrix() -> None:
    # the two-flux equations solved as a matrix exponential (scipy), an independent way
    from scipy.linalg import expm

    flux = np.eye(2)
    stack = three_layers()
    for k, s, d in zip(
        stack.absorption_per_mm[:, 0], stack.scattering_per_mm[:, 0], (0.2, 0.8, 0.4), strict=True
    ):
        flux = expm(np.array([[-(k + s), s], [-s, k + s]]) * d) @ flux
    # flux carries (up, down) from the bottom to the top; at the bottom up = 0.35 down
    up, down = flux @ np.array([0.35, 1.0])
    assert reflectance_within(stack, np.array([0.2, 0.8, 0.4]))[0] == pytest.approx(up / down, rel=1e-12)


amount = st.floats(0.0, 30.0)
thickness_mm = st.floats(0.0, 5.0)


@given(k=amount, s=amount, first=thickness_mm, second=thickness_mm, ground=st.floats(0.0, 0.99))
def test_two_layers_of_one_powder_are_one_layer_of_both(
    k: float, s: float, first: float, second: float, ground: float
) -> None:
    both = over(*layer(k, s, second), over(*layer(k, s, first), ground))
    assert float(both) == pytest.approx(float(over(*layer(k, s, first + second), ground)), abs=1e-12)


@given(k=amount, s=st.floats(0.01, 30.0), d=thickness_mm, ground=st.floats(0.0, 0.99))
def test_a_layer_takes_the_ground_toward_its_own_thick_colour(
    k: float, s: float, d: float, ground: float
) -> None:
    thick = float(thick_reflectance(k, s))
    seen = float(over(*layer(k, s, d), ground))
    assert min(ground, thick) - 1e-12 <= seen <= max(ground, thick) + 1e-12


@given(k=amount, s=amount, d=thickness_mm)
def test_a_layer_makes_no_light(k: float, s: float, d: float) -> None:
    r, t = layer(k, s, d)
    assert 0.0 <= float(r) <= 1.0
    assert 0.0 <= float(t) <= 1.0
    assert float(r + t) <= 1.0 + 1e-12
