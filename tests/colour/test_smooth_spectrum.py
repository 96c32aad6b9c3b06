"""A smooth reflectance for a colour known by its CIELAB only."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_powders import optics_of
from scipy.optimize import minimize

from firstbake.colour import (
    lab_from_reflectance,
    outer_face,
    smooth_reflectance,
    thick_reflectance,
    weights_of,
    xyz_from_lab,
)
from firstbake.errors import BadInput


@pytest.mark.parametrize(
    "lab",
    [(52, 6, 20), (72, 4, 21), (100, 0, 0), (50, 0, 0), (0, 0, 0), (25, 10, 8), (60, 60, 40), (95, -5, 60)],
)
def test_the_spectrum_has_exactly_the_colour_between_0_and_1(
    lab: tuple[float, float, float],
) -> None:
    found = smooth_reflectance(lab)
    assert found.shape == (31,)
    assert found.min() >= 0.0
    assert found.max() <= 1.0
    assert lab_from_reflectance(found) == pytest.approx(lab, abs=1e-9)


@settings(deadline=None)
@given(l=st.floats(30, 90), a=st.floats(-3, 12), b=st.floats(2, 32))
def test_every_colour_a_stump_may_have_has_a_spectrum(l: float, a: float, b: float) -> None:  # noqa: E741
    assert lab_from_reflectance(smooth_reflectance((l, a, b))) == pytest.approx([l, a, b], abs=1e-8)


@pytest.mark.parametrize("lab", [(52, 6, 20), (60, 60, 40)])
def test_no_smoother_spectrum_has_the_colour(lab: tuple[float, float, float]) -> None:
    # scipy's trust-region solver on the same question; (60, 60, 40) touches the lower bound
    bend = np.diff(np.eye(31), n=2, axis=0)
    xyz = xyz_from_lab(np.array(lab, dtype=float))
    rows = weights_of().T
    found = smooth_reflectance(lab)
    answer = minimize(
        lambda r: 1e4 * float(np.sum((bend @ r) ** 2)),
        np.full(31, 0.3),
        jac=lambda r: 2e4 * bend.T @ (bend @ r),
        method="SLSQP",
        bounds=[(0.0, 1.0)] * 31,
        constraints={
            "type": "eq",
            "fun": lambda r: rows @ r - xyz,
            "jac": lambda r: rows,
        },
        options={"maxiter": 500, "ftol": 1e-13},
    )
    ours = 1e4 * float(np.sum((bend @ found) ** 2))
    assert ours <= answer.fun * (1 + 1e-6) + 1e-9
    assert answer.fun == pytest.approx(ours, rel=2e-2)


@pytest.mark.parametrize("name", ["dentine 1", "dentine 2", "dentine 3", "dentine 4", "dentine chroma"])
def test_for_dentine_colours_the_guess_is_near_the_true_spectrum(name: str) -> None:
    optics = optics_of(name)
    true = outer_face(1.5, "45/0").seen(thick_reflectance(optics.absorption_per_mm, optics.scattering_per_mm))
    guess = smooth_reflectance(lab_from_reflectance(true))
    assert float(np.sqrt(np.mean((guess - true) ** 2))) < 0.02


@pytest.mark.parametrize("lab", [(98.0, 0.0, 40.0), (101.0, 0.0, 0.0), (50.0, 150.0, 0.0)])
def test_a_colour_no_surface_can_have_is_refused(lab: tuple[float, float, float]) -> None:
    with pytest.raises(BadInput, match="no surface"):
        smooth_reflectance(lab)


def test_a_colour_that_is_not_three_numbers_is_refused() -> None:
    with pytest.raises(BadInput, match="three numbers"):
        smooth_reflectance((50.0, 1.0))
    with pytest.raises(BadInput, match="three numbers"):
        smooth_reflectance((50.0, float("nan"), 1.0))
