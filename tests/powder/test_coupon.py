"""Green density from coupons: exact without noise, honest about its doubt with it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstbake.errors import BadInput
from firstbake.powder import Coupon, fit_shrinkage
from firstbake.powder.coupon import READING_SD_MM


def disc(density: float, fired: float, *, diameter: float = 10.0, height: float = 3.0) -> Coupon:
    scale = (density / fired) ** (1 / 3)
    return Coupon("disc", (height, diameter), (height * scale, diameter * scale))


def test_textbook_shrinkage_of_38_percent_is_14_8_percent_linear():
    # 38.1 % by volume: Skinner and Phillips 1967 as quoted in teaching slides; 14.8 % follows by mass balance
    fit = fit_shrinkage((disc(0.60, 0.60 / 0.619),), fired_relative_density=0.60 / 0.619)
    assert fit.volume_shrinkage == pytest.approx(0.381, abs=5e-4)
    assert fit.linear_shrinkage == pytest.approx(0.148, abs=5e-4)
    assert fit.green_relative_density == pytest.approx(0.60)


@given(st.floats(0.5, 0.68), st.floats(0.93, 0.99), st.floats(5, 15), st.floats(1, 6))
def test_a_free_disc_gives_back_its_density(density, fired, diameter, height):
    coupon = disc(density, fired, diameter=diameter, height=height)
    fit = fit_shrinkage((coupon,), fired_relative_density=fired)
    assert fit.green_relative_density == pytest.approx(density, rel=1e-12)


def test_the_stated_doubt_covers_the_truth_about_as_often_as_it_says():
    rng = np.random.default_rng(11)
    truth, fired, count, inside = 0.60, 0.97, 6, 0
    trials = 400
    for _ in range(trials):
        built = truth * (1 + 0.015 * rng.standard_normal(count))
        coupons = []
        for density in built:
            exact = disc(density, fired)
            green, shrunk = (
                tuple(float(s + READING_SD_MM * rng.standard_normal()) for s in sizes)
                for sizes in (exact.green_mm, exact.fired_mm)
            )
            coupons.append(Coupon("disc", green, shrunk))
        fit = fit_shrinkage(tuple(coupons), fired_relative_density=fired, fired_doubt=0.0)
        inside += abs(fit.green_relative_density - truth) < 2 * fit.standard_error
    # two standard errors of six values: 90 % by Student's t with 5 degrees of freedom
    assert 0.85 < inside / trials < 0.99


def test_more_coupons_leave_less_doubt():
    one = fit_shrinkage((disc(0.6, 0.97),), fired_relative_density=0.97, fired_doubt=0.0)
    four = fit_shrinkage((disc(0.6, 0.97),) * 4, fired_relative_density=0.97, fired_doubt=0.0)
    assert four.standard_error < one.standard_error
    assert any("Measure three" in note for note in one.notes)
    assert four.notes == ()


def test_a_coupon_that_stuck_is_told():
    stuck, free = Coupon("disc", (3.0, 10.0), (2.0, 9.6)), Coupon("disc", (3.0, 10.0), (2.55, 8.5))
    fit = fit_shrinkage((stuck, free), fired_relative_density=0.97)
    assert any("stuck" in note for note in fit.notes)
    alone = fit_shrinkage((free,), fired_relative_density=0.97)
    assert fit.green_relative_density == alone.green_relative_density and fit.coupons == 1


def test_coupons_that_all_stuck_give_no_density():
    stuck = Coupon("disc", (3.0, 10.0), (2.0, 9.6))
    with pytest.raises(BadInput, match="none of the 2 coupons shrank freely"):
        fit_shrinkage((stuck, stuck), fired_relative_density=0.97)


@pytest.mark.parametrize(
    ("coupon", "told"),
    [
        (("rod", (1.0, 2.0), (1.0, 2.0)), "disc"),
        (("disc", (3.0,), (2.5,)), "2 sizes"),
        (("bar", (3.0, 4.0, 0.0), (2.5, 3.4, 1.0)), "3 sizes"),
    ],
)
def test_an_impossible_coupon_is_refused(coupon, told):
    with pytest.raises(BadInput, match=told):
        Coupon(*coupon)


def test_swapped_green_and_fired_sizes_are_refused():
    right = disc(0.6, 0.97)
    with pytest.raises(BadInput, match="which are green"):
        fit_shrinkage((Coupon("disc", right.fired_mm, right.green_mm),), fired_relative_density=0.97)
