"""Where the order gives spectra: the stump by its own, the match under other lights, the target's doubt."""

from dataclasses import replace

import numpy as np
import pytest
from invented_powders import optics_of
from scipy.interpolate import CubicSpline
from test_crown_map import dark_case
from test_zones import BODY, EVERYWHERE, SKIN, case_of, frame_of, layers_of, room_of

import colour as reference
from firstbake.case import Case
from firstbake.colour import (
    ZoneColour,
    delta_e00,
    grid_nm,
    ground_of,
    lab_from_reflectance,
    predict_zones,
    smooth_reflectance,
)
from firstbake.colour.doubt import doubt_of
from firstbake.colour.recipe import Recipe, seen_reflectance
from firstbake.colour.words import metamerism_in_words

NM = grid_nm()
# a stump with a band of its own near 540 nm, as stained dentine may have (invented)
STUMP = 0.12 + 0.35 / (1 + np.exp(-(NM - 560) / 45)) - 0.08 * np.exp(-(((NM - 540) / 18) ** 2))


def with_stump(case: Case, reflectance: np.ndarray, *, spectrum: bool = True) -> Case:
    lab = tuple(float(v) for v in lab_from_reflectance(reflectance))
    kept = {"stump": tuple(reflectance.tolist())} if spectrum else {}
    return replace(case, target=replace(case.target, stump=lab, reflectance=kept))


def _mean_fresnel(inner: float, outer: float) -> float:
    """Diffuse reflectance of a face seen from the medium of index `inner`, by a plain sum over angles."""
    angle = (np.arange(200_000) + 0.5) / 200_000 * np.pi / 2
    sine = np.minimum(np.sin(angle) * inner / outer, 1.0)
    through = np.arcsin(sine)
    a, b = np.cos(angle), np.cos(through)
    s = ((inner * a - outer * b) / (inner * a + outer * b)) ** 2
    p = ((outer * a - inner * b) / (outer * a + inner * b)) ** 2
    r = np.where(np.sin(angle) * inner / outer >= 1.0, 1.0, 0.5 * (s + p))
    return float(np.mean(r * np.sin(2 * angle)) * np.pi / 2)


def _through(below: np.ndarray, inner: float, outer: float) -> np.ndarray:
    """Reflectance seen from the medium `outer` of a body `inner` whose inside reflectance is `below`."""
    up, down = _mean_fresnel(inner, outer), _mean_fresnel(outer, inner)
    return down + (1 - down) * (1 - up) * below / (1 - up * below)


def test_a_measured_stump_lies_under_the_core_with_its_own_spectrum() -> None:
    # outside check: text-book hyperbolic form, Saunderson's faces and Fresnel sums written here
    case = with_stump(case_of((BODY, SKIN)), STUMP)
    ground = ground_of(case, geometry="45/0")
    assert ground.core is not None
    outer = ((0.5 / 2.5) ** 2, _mean_fresnel(1.5, 1.0))
    at45 = np.arcsin(np.sin(np.pi / 4) / 1.54)
    rs = ((np.cos(np.pi / 4) - 1.54 * np.cos(at45)) / (np.cos(np.pi / 4) + 1.54 * np.cos(at45))) ** 2
    rp = ((1.54 * np.cos(np.pi / 4) - np.cos(at45)) / (1.54 * np.cos(np.pi / 4) + np.cos(at45))) ** 2
    factor = (1 - 0.5 * (rs + rp)) * (1 - (0.54 / 2.54) ** 2) / 1.54**2
    inside = STUMP / (factor + _mean_fresnel(1.54, 1.0) * STUMP)
    under = _through(_through(inside, 1.54, 1.5), 1.5, 2.2)
    k, s = ground.core.absorption_per_mm, ground.core.scattering_per_mm
    a = 1 + k / s
    b = np.sqrt(a * a - 1)
    coth = 1 / np.tanh(b * s * 0.5)
    above = _through((1 - under * (a - b * coth)) / (a - under + b * coth), 2.2, 1.5)
    clear = replace(optics_of("transparent clear"), absorption_per_mm=0.0 * NM, scattering_per_mm=0.0 * NM)
    seen = seen_reflectance(Recipe((clear,), (0.1,), ground, "d/8 specular excluded"))
    expected = (1 - outer[0]) * (1 - outer[1]) * above / (1 - outer[1] * above)
    np.testing.assert_allclose(seen, expected, atol=2e-4)


def test_one_colour_two_spectra_two_crowns() -> None:
    case = dark_case(BODY, SKIN)
    thin = ((BODY.optics, 0.35), (SKIN.optics, 0.25))

    def over(one: Case) -> np.ndarray:
        ground = ground_of(one, geometry="45/0")
        return seen_reflectance(Recipe(*zip(*thin, strict=True), ground, "45/0"))  # type: ignore[arg-type]

    measured, guessed = over(with_stump(case, STUMP)), over(with_stump(case, STUMP, spectrum=False))
    assert np.abs(measured - guessed).max() > 1e-3
    smooth = smooth_reflectance(lab_from_reflectance(STUMP))
    np.testing.assert_allclose(over(with_stump(case, smooth)), guessed, atol=1e-6)


def test_the_stumps_doubt_moves_its_colour_and_keeps_its_shape() -> None:
    case = case_of((BODY, SKIN))
    doubts = [
        doubt_of(
            Recipe((BODY.optics,), (0.4,), ground_of(one, geometry="45/0"), "45/0"),
            free=False,
        )
        for one in (with_stump(case, STUMP), with_stump(case, STUMP, spectrum=False))
    ]
    assert doubts[0] == pytest.approx(doubts[1], rel=0.05)
    assert doubts[0] != doubts[1]


def _drawn(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The spectrum at every nm by cubic spline; beyond the ends the last value stays."""
    nm = np.arange(400.0, 701.0)
    return nm, np.asarray(CubicSpline(NM, values)(nm))


def zones(case: Case) -> tuple[ZoneColour, ...]:
    return predict_zones(
        case, frame_of(), room_of(EVERYWHERE), layers=layers_of(BODY, SKIN, each_mm=(0.35, 0.25))
    )


WANTED = 0.2 + 0.4 / (1 + np.exp(-(NM - 480) / 30)) + 0.03 * np.sin(NM / 12)


def test_the_match_under_other_lights_is_that_of_an_independent_library() -> None:
    # colour-science: tristimulus values summed at 1 nm, Lab, CIEDE2000; XYZ ratios after CIE 15
    case = case_of((BODY, SKIN))
    lab = tuple(float(v) for v in lab_from_reflectance(WANTED))
    target = replace(case.target, body=lab, reflectance={"body": tuple(WANTED.tolist())})
    neck, body, _ = zones(replace(case, target=target))
    assert neck.metamerism == {}
    assert neck.metamerism_words == ""
    assert set(body.metamerism) == {"A", "F11", "LED-B3"}
    shape = reference.SpectralShape(360, 780, 1)
    cmfs = reference.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)

    def xyz(values: np.ndarray, light: str) -> np.ndarray:
        lamp = reference.SDS_ILLUMINANTS[{"F11": "FL11"}.get(light, light)].copy().align(shape)
        fine = np.interp(shape.wavelengths, *_drawn(values))
        whole = reference.SpectralDistribution(fine, shape.wavelengths)
        return np.asarray(reference.sd_to_XYZ(whole, cmfs, lamp, method="Integration"))

    assert body.reflectance is not None
    white = np.ones(31)
    for light in ("A", "F11"):
        ratio = xyz(WANTED, "D65") / xyz(body.reflectance, "D65")
        whites = xyz(white, light)
        chroma = whites[:2] / whites.sum()
        pair = [xyz(body.reflectance, light) * ratio, xyz(WANTED, light)]
        labs = [reference.XYZ_to_Lab(one / whites[1], chroma) for one in pair]
        expected = float(reference.delta_E(labs[0], labs[1], method="CIE 2000"))
        assert body.metamerism[light] == pytest.approx(expected, abs=0.01)


def test_words_say_how_much_a_change_of_light_is_seen() -> None:
    assert metamerism_in_words({}) == ""
    assert "0.3 in lamp light (A) and 0.5 under tubes (F11): most eyes" in metamerism_in_words(
        {"A": 0.3, "F11": 0.5, "LED-B3": 5.0}
    )
    assert "many eyes" in metamerism_in_words({"A": 0.3, "F11": 1.2})
    assert "before the glaze" in metamerism_in_words({"A": 2.3, "F11": 1.2})


def test_the_targets_own_doubt_enters_the_doubt_of_the_difference() -> None:
    case = case_of((BODY, SKIN))
    doubtful = replace(case, target=replace(case.target, doubt_delta_e00={"body": 1.5}))
    neck, body, _ = zones(doubtful)
    assert body.doubt_delta_e00 == zones(case)[1].doubt_delta_e00
    assert body.difference_doubt_delta_e00**2 == pytest.approx(body.doubt_delta_e00**2 + 1.5**2)
    assert neck.difference_doubt_delta_e00 == neck.doubt_delta_e00
    assert body.optics_doubt["body"].startswith("10% assumed")
    assert set(body.optics_doubt) == {"white core", "body", "skin"}
    assert float(delta_e00(body.lab, body.target)) == pytest.approx(body.delta_e00)


def test_a_doubtful_reading_of_the_stump_makes_the_prediction_more_doubtful() -> None:
    case = case_of((BODY, SKIN))
    told = []
    for doubt in (0.0, 3.0):
        doubtful = replace(case, target=replace(case.target, doubt_delta_e00={"stump": doubt}))
        ground = ground_of(doubtful, geometry="45/0")
        told.append(doubt_of(Recipe((BODY.optics,), (0.3,), ground, "45/0"), free=False))
    assert told[1] > told[0]
