"""Translucency, whiteness and metamerism against published numbers and another library."""

import warnings

import numpy as np
import pytest
from invented_powders import optics_of

from firstbake.colour import (
    ILLUMINANTS,
    LowerEnd,
    contrast_ratio,
    delta_e00,
    grid_nm,
    lab_from_reflectance,
    labs_of,
    metamerism_index,
    outer_face,
    stack_of,
    translucency,
    translucency_00,
    weights_of,
    white_of,
    whiteness_index,
    worst_metamerism,
)
from firstbake.errors import BadInput

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour


# CIELAB on white and on black and the printed contrast ratio of teeth in the mouth (pilot in vivo image
# spectrophotometry of the enamel-dentine complex, printed means); TP and TP00 worked out by hand from them
@pytest.mark.parametrize(
    ("white", "black", "ratio", "tp", "tp00", "printed"),
    [
        ((76.3, 3.4, 17.2), (63.5, 0.8, 10.7), 0.639, 14.6, 11.0, 0.644),
        ((79.0, 3.9, 20.4), (74.9, 1.8, 16.7), 0.876, 5.9, 4.1, 0.874),
    ],
)
def test_published_teeth_have_their_translucency(
    white: tuple[float, ...],
    black: tuple[float, ...],
    ratio: float,
    tp: float,
    tp00: float,
    printed: float,
) -> None:
    assert float(contrast_ratio(black, white)) == pytest.approx(ratio, abs=6e-4)
    assert float(contrast_ratio(black, white)) == pytest.approx(printed, abs=0.006)
    assert float(translucency(black, white)) == pytest.approx(tp, abs=0.05)
    assert float(translucency_00(black, white)) == pytest.approx(tp00, abs=0.05)


def test_the_whiteness_index_gives_the_worked_number() -> None:
    # 0.511 * 75 - 2.324 * 2 - 1.100 * 18, by hand
    assert float(whiteness_index((75.0, 2.0, 18.0))) == pytest.approx(13.877, abs=1e-9)
    assert whiteness_index(np.zeros((4, 2, 3))).shape == (4, 2)


@pytest.mark.parametrize("name", ["dentine 2", "enamel mid", "transparent clear"])
def test_a_thicker_layer_shines_through_less_in_every_measure(name: str) -> None:
    thickness = np.linspace(0.1, 3.0, 40)[:, None]
    labs = []
    for tile in (0.03, 0.87):
        inside = outer_face(1.5, "45/0").internal(np.full(31, tile))
        stack = stack_of([optics_of(name)], LowerEnd(inside, 1.5))
        labs.append(labs_of(stack, thickness, geometry="45/0"))
    assert (np.diff(translucency(*labs)) < 0).all()
    assert (np.diff(translucency_00(*labs)) < 0).all()
    assert (np.diff(contrast_ratio(*labs)) > 0).all()


def test_the_index_is_nothing_for_equal_spectra_and_finds_a_pair_that_parts_under_lamps() -> None:
    nm = grid_nm()
    body = 0.4 + 0.3 / (1 + np.exp(-(nm - 500) / 40))
    assert float(worst_metamerism(body, body)) == pytest.approx(0.0, abs=1e-9)
    # a change of the spectrum that daylight does not see: what is left of a wave outside of its weights
    weights = weights_of("D65")
    wave = np.sin(nm / 11.0)
    unseen = wave - weights @ np.linalg.lstsq(weights, wave, rcond=None)[0]
    other = body + 0.05 * unseen / np.abs(unseen).max()
    assert float(delta_e00(lab_from_reflectance(other), lab_from_reflectance(body))) < 1e-6
    each = [float(metamerism_index(other, body, illuminant=light)) for light in ("A", "F11", "LED-B3")]
    assert max(each) > 0.5
    assert float(worst_metamerism(other, body)) == pytest.approx(max(each))


# X, Z of the perfect diffuser, 10 degrees: CIE 15 for D65 and D50
@pytest.mark.parametrize(("light", "x", "z"), [("D65", 94.811, 107.304), ("D50", 96.720, 81.427)])
def test_whites_of_the_10_degree_observer_are_the_published_ones(light: str, x: float, z: float) -> None:
    assert white_of(light, "10") == pytest.approx([x, 100.0, z], abs=0.013)


def test_a_known_spectrum_has_its_known_colour_for_the_10_degree_observer() -> None:
    # worked out at 1 nm from 360 to 780 nm in another program; 31 points may differ by 0.004
    seen = 0.2 + 0.4 / (1 + np.exp(-(grid_nm() - 480) / 30))
    found = lab_from_reflectance(seen, observer="10")
    assert float(delta_e00(found, (78.430, -2.150, 25.770))) < 0.005


@pytest.mark.parametrize("light", ILLUMINANTS)
def test_10_degree_weights_are_the_fold_of_the_published_tables(light: str) -> None:
    # by way of another library's ASTM E308 sum at 1 nm, on spectra that a cubic between points describes
    shape = colour.SpectralShape(360, 780, 1)
    cmfs = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"].copy().align(shape)
    power = colour.SDS_ILLUMINANTS["FL11" if light == "F11" else light].copy().align(shape)
    fine = cmfs.values * power.values[:, None]
    fine *= 100.0 / fine[:, 1].sum()
    x = (shape.wavelengths - 400.0) / 300.0
    clipped = np.clip(x, 0.0, 1.0)
    for power_of_x in range(4):
        rough = weights_of(light, "10").T @ ((grid_nm() - 400.0) / 300.0) ** power_of_x
        exact = fine.T @ clipped**power_of_x
        assert rough == pytest.approx(exact, abs=2e-3)


def test_an_unknown_observer_is_refused() -> None:
    with pytest.raises(BadInput, match="observer"):
        weights_of("D65", "4")
