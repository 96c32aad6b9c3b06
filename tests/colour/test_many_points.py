"""Thousands of points at once: the same colours as one by one in double precision."""

import numpy as np
import pytest
from invented_powders import optics_of

from firstbake.colour import (
    GEOMETRIES,
    LowerEnd,
    Stack,
    delta_e00,
    lab_from_reflectance,
    labs_of,
    outer_face,
    reflectance_within,
    spectra_of,
    stack_of,
)
from firstbake.errors import BadInput

NAMES = ("opaque light", "dentine 3", "dentine 1", "enamel mid", "transparent clear")
MOST_MM = np.array([0.2, 1.0, 1.0, 1.0, 0.5])


def a_stack(end: LowerEnd, index: tuple[float, ...] = (2.2, 1.5, 1.5, 1.52, 1.5)) -> Stack:
    plain = stack_of([optics_of(name) for name in NAMES], end)
    return Stack(plain.absorption_per_mm, plain.scattering_per_mm, index, end)


def thicknesses(count: int, seed: int = 4) -> np.ndarray:
    return np.random.default_rng(seed).uniform(0.0, 1.0, (count, 5)) * MOST_MM


@pytest.mark.parametrize("geometry", GEOMETRIES)
@pytest.mark.parametrize("below", [1.0, 1.5, 2.2, None])
def test_fast_colours_agree_with_the_exact_sum(geometry: str, below: float | None) -> None:
    # against reflectance_within(), which is held to 50-digit arithmetic elsewhere
    stack = a_stack(LowerEnd(np.linspace(0.05, 0.7, 31), below))
    thickness = thicknesses(2500)  # two full blocks and a half
    exact = outer_face(stack.index[-1], geometry).seen(reflectance_within(stack, thickness))
    assert spectra_of(stack, thickness, geometry=geometry) == pytest.approx(exact, abs=2e-6)
    for light, observer in (("D65", "2"), ("F11", "10")):
        found = labs_of(stack, thickness, geometry=geometry, illuminant=light, observer=observer)
        wanted = lab_from_reflectance(exact, illuminant=light, observer=observer)
        assert delta_e00(found, wanted).max() < 1e-3


def test_powders_that_hardly_absorb_or_hardly_scatter_are_no_exception() -> None:
    end = LowerEnd(np.full(31, 0.8), 1.5)
    nothing, some, much = np.zeros(31), np.full(31, 0.3), np.full(31, 25.0)
    kinds = [(nothing, much), (some, nothing), (nothing, nothing), (1e-7 * much, much), (1e-3 * some, some)]
    stack = Stack(np.array([k for k, _ in kinds]), np.array([s for _, s in kinds]), (1.5,) * 5, end)
    thickness = thicknesses(200)
    exact = outer_face(1.5, "45/0").seen(reflectance_within(stack, thickness))
    assert spectra_of(stack, thickness, geometry="45/0") == pytest.approx(exact, abs=2e-6)


def test_one_point_and_no_point_work() -> None:
    stack = a_stack(LowerEnd(np.full(31, 0.4), None))
    many = thicknesses(1001)
    assert labs_of(stack, many[-1:], geometry="45/0") == pytest.approx(
        labs_of(stack, many, geometry="45/0")[-1:], abs=1e-3
    )
    assert labs_of(stack, np.zeros((0, 5)), geometry="45/0").shape == (0, 3)


@pytest.mark.parametrize(
    ("thickness", "sentence"),
    [
        (np.zeros(5), "5 layers need"),
        (np.zeros((2, 4)), "5 layers need"),
        (np.full((1, 5), -0.1), "at least 0"),
    ],
)
def test_thicknesses_that_do_not_fit_are_refused(thickness: np.ndarray, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        labs_of(a_stack(LowerEnd(np.full(31, 0.4), None)), thickness, geometry="45/0")


def test_a_stack_without_layers_is_refused() -> None:
    bare = Stack(np.zeros((0, 31)), np.zeros((0, 31)), (), LowerEnd(np.full(31, 0.4), None))
    with pytest.raises(BadInput, match="without layers"):
        labs_of(bare, np.zeros((3, 0)), geometry="45/0")
