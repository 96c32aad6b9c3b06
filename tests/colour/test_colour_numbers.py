"""Reflectance to CIELAB: the weights, the whites, and an independent implementation."""

import csv
import io
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstbake.colour import (
    ILLUMINANTS,
    delta_e00,
    grid_nm,
    lab_from_reflectance,
    lab_from_xyz,
    metameric_difference,
    on_grid,
    srgb_from_lab,
    weights_of,
    white_of,
    xyz_from_lab,
    xyz_from_reflectance,
)
from firstbake.errors import BadCard, BadInput

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

OTHER_NAMES = {"F11": "FL11"}
FINE = colour.SpectralShape(360, 780, 1)
CMFS = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(FINE)


def power_of(illuminant: str) -> colour.SpectralDistribution:
    return colour.SDS_ILLUMINANTS[OTHER_NAMES.get(illuminant, illuminant)].copy().align(FINE)


def smooth_spectra(count: int, wavelength: np.ndarray, seed: int, strength: float = 1.0) -> np.ndarray:
    """(count, w) random smooth spectra between 0 and 1, strongly coloured at strength 1."""
    random = np.random.default_rng(seed)
    x = (wavelength - 360.0) / 420.0
    waves = np.cos(np.pi * np.outer(np.arange(7), x))
    heights = strength * random.normal(0.0, 1.0, (count, 7)) * np.array([1.5, 1.5, 1.0, 0.6, 0.4, 0.25, 0.15])
    return 1.0 / (1.0 + np.exp(-heights @ waves))


# X, Z of the perfect diffuser: CIE 15 (D65, D50), sums at 1 nm (the others)
WHITES = {
    "D65": (95.047, 108.883),
    "D50": (96.424, 82.513),
    "A": (109.849, 35.591),
    "F11": (100.900, 64.267),
    "LED-B3": (100.862, 67.634),
}


@pytest.mark.parametrize("illuminant", ILLUMINANTS)
def test_whites_are_the_published_ones(illuminant: str) -> None:
    x, z = WHITES[illuminant]
    assert white_of(illuminant) == pytest.approx([x, 100.0, z], abs=6e-4)


@pytest.mark.parametrize("illuminant", ILLUMINANTS)
def test_the_shipped_weights_are_the_fold_of_the_published_tables(illuminant: str) -> None:
    # tables and interpolation coefficients (ASTM E2022) of colour-science, folded here row by row
    fine = CMFS.values * power_of(illuminant).values[:, None]
    fine = fine * 100.0 / fine[:, 1].sum()
    inner = colour.colorimetry.lagrange_coefficients_ASTME2022(10, "inner")
    first = colour.colorimetry.lagrange_coefficients_ASTME2022(10, "boundary")
    folded = np.zeros((31, 3))
    for row, nm in zip(fine, FINE.wavelengths.astype(int), strict=True):
        left, rest = divmod(min(max(nm, 400), 700) - 400, 10)
        if rest == 0:
            folded[left] += row
        elif left == 0:
            folded[0:3] += np.outer(first[rest - 1], row)
        elif left == 29:
            folded[28:31] += np.outer(first[9 - rest][::-1], row)
        else:
            folded[left - 1 : left + 3] += np.outer(inner[rest - 1], row)
    assert weights_of(illuminant) == pytest.approx(folded, abs=2e-9)


@pytest.mark.parametrize("illuminant", ILLUMINANTS)
def test_tooth_like_spectra_agree_with_a_1_nm_sum_within_0_005(illuminant: str) -> None:
    # the same smooth spectra, summed at 1 nm with the tables of colour-science and its own CIELAB; beyond
    # 400 to 700 nm the end values are repeated, as the 10 nm convention has it
    held = np.clip(FINE.wavelengths, 400.0, 700.0)
    fine = smooth_spectra(500, held, seed=11, strength=0.4)
    weight = CMFS.values * power_of(illuminant).values[:, None]
    xyz = fine @ weight / weight[:, 1].sum()
    white = colour.XYZ_to_xy(weight.sum(axis=0) / weight[:, 1].sum())
    theirs = colour.XYZ_to_Lab(xyz, white)
    ours = lab_from_reflectance(smooth_spectra(500, grid_nm(), seed=11, strength=0.4), illuminant=illuminant)
    assert delta_e00(ours, theirs).max() < 0.005


@pytest.mark.parametrize("illuminant", ILLUMINANTS)
def test_500_coloured_spectra_agree_with_another_library_within_0_005(illuminant: str) -> None:
    # colour-science, ASTM E308 from 10 nm data by another interpolation (Sprague), its own CIELAB and its own
    # CIEDE2000. The sum is linear in the spectrum, so 31 unit spectra and 5 whole ones are asked for
    values = smooth_spectra(500, grid_nm(), seed=2, strength=0.5)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS[OTHER_NAMES.get(illuminant, illuminant)]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        asked = np.array(
            [
                colour.sd_to_XYZ(colour.SpectralDistribution(row, grid_nm()), cmfs, light, method="ASTM E308")
                for row in np.vstack([np.eye(31), values[:5]])
            ]
        )
    theirs = values @ asked[:31]
    assert theirs[:5] == pytest.approx(asked[31:], abs=1e-9)
    assert xyz_from_reflectance(values, illuminant=illuminant) == pytest.approx(theirs, abs=1e-2)
    white = colour.XYZ_to_xy(white_of(illuminant) / 100.0)
    lab = colour.XYZ_to_Lab(theirs / 100.0, white)
    ours = lab_from_reflectance(values, illuminant=illuminant)
    assert delta_e00(ours, lab).max() < 0.005
    # a difference between neighbours, not only a colour: both libraries give the same number
    assert delta_e00(ours[1:], ours[:-1]) == pytest.approx(
        colour.delta_E(lab[1:], lab[:-1], method="CIE 2000"), abs=0.005
    )


def test_a_known_spectrum_has_its_known_colour_under_each_light() -> None:
    # 0.2 + 0.4 / (1 + exp(-(w - 480) / 30)) summed at 1 nm from 360 to 780 nm
    wanted = {
        "D65": (79.084, -4.268, 25.751),
        "D50": (79.331, -1.496, 25.424),
        "A": (80.011, 2.142, 24.931),
        "F11": (79.859, -2.362, 28.656),
        "LED-B3": (79.731, -1.599, 27.103),
    }
    reflectance = 0.2 + 0.4 / (1 + np.exp(-(grid_nm() - 480.0) / 30.0))
    for light, lab in wanted.items():
        assert lab_from_reflectance(reflectance, illuminant=light) == pytest.approx(lab, abs=0.004)


@pytest.mark.parametrize("illuminant", ILLUMINANTS)
def test_white_and_grey_are_neutral_under_every_light(illuminant: str) -> None:
    # CIELAB of a flat 0.5: L* = 116 cbrt(0.5) - 16
    assert lab_from_reflectance(np.ones(31), illuminant=illuminant) == pytest.approx([100, 0, 0], abs=1e-9)
    grey = lab_from_reflectance(np.full(31, 0.5), illuminant=illuminant)
    assert grey == pytest.approx([76.069261, 0, 0], abs=5e-7)


@given(l=st.floats(0, 100), a=st.floats(-80, 80), b=st.floats(-80, 80))
def test_cielab_to_xyz_and_back_is_the_same_colour(l: float, a: float, b: float) -> None:  # noqa: E741
    assert lab_from_xyz(xyz_from_lab([l, a, b])) == pytest.approx([l, a, b], abs=1e-9)


def test_the_screen_preview_agrees_with_another_library() -> None:
    # colour-science, sRGB from CIELAB with the D65 white of sRGB
    labs = np.array(
        [[75.2, 1.3, 16.3], [52.0, 6.0, 20.0], [90.0, 0.0, 5.0], [100.0, 0.0, 0.0], [5.0, 0.0, 0.0]]
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = np.clip(colour.XYZ_to_sRGB(colour.Lab_to_XYZ(labs)), 0, 1)
    assert srgb_from_lab(labs) == pytest.approx(theirs, abs=1e-2)
    assert srgb_from_lab([50.0, 120.0, -120.0]).max() <= 1.0


def test_a_pair_that_matches_in_daylight_only_is_told_by_lamp_light() -> None:
    standard = smooth_spectra(1, grid_nm(), seed=4)[0] * 0.5 + 0.2
    same = metameric_difference(standard, standard, illuminant="A")
    assert float(delta_e00(same[0], same[1])) == pytest.approx(0.0, abs=1e-9)
    # a change that D65 cannot see: the part of a wavy spectrum outside the space of its three weights
    weights = weights_of("D65")
    wave = np.cos(np.linspace(0, 6 * np.pi, 31))
    unseen = wave - weights @ np.linalg.lstsq(weights, wave, rcond=None)[0]
    sample = standard + 0.1 * unseen
    assert float(delta_e00(lab_from_reflectance(sample), lab_from_reflectance(standard))) < 1e-9
    shifted = metameric_difference(sample, standard, illuminant="A")
    assert float(delta_e00(shifted[0], shifted[1])) > 0.3


def test_an_unknown_light_is_refused() -> None:
    with pytest.raises(BadInput, match="D65"):
        weights_of("candle")


def test_spectra_on_other_grids_are_brought_to_ours_exactly_for_cubics() -> None:
    def cubic(nm: np.ndarray) -> np.ndarray:
        x = (nm - 550.0) / 100.0
        return 0.5 + 0.1 * x - 0.05 * x**2 + 0.02 * x**3

    uneven = np.array([390.0, *np.arange(397.0, 711.0, 13.0), 725.0])
    for nodes in (np.arange(380.0, 731.0, 5.0), np.arange(380.0, 741.0, 20.0), uneven):
        assert on_grid(nodes, cubic(nodes), what="test") == pytest.approx(cubic(grid_nm()), abs=1e-12)


@pytest.mark.parametrize(
    ("nm", "sentence"),
    [
        (np.arange(420.0, 701.0, 10.0), "400 to 700 nm are needed"),
        (np.arange(400.0, 701.0, 25.0), "20 nm"),
        (np.arange(700.0, 399.0, -10.0), "must rise"),
        (np.array([400.0, 700.0]), "at least 3"),
    ],
)
def test_spectra_that_do_not_fit_are_refused_with_a_sentence(nm: np.ndarray, sentence: str) -> None:
    with pytest.raises(BadCard, match=sentence):
        on_grid(nm, np.full(len(nm), 0.5), what="body")
    with pytest.raises(BadCard, match="not numbers"):
        on_grid(grid_nm(), np.full(31, np.nan), what="body")


def test_the_weights_file_is_the_one_the_script_writes() -> None:
    # the printed rows, read back as text, are the table in use
    from firstbake.colour import weights

    rows = list(csv.reader(io.StringIO("\n".join(",".join(f"{v:.9f}" for v in row) for row in weights.D65))))
    assert np.array(rows, dtype=float) == pytest.approx(weights_of("D65"), abs=0)
