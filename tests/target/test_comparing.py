"""Geometries are converted by the faces' factors, with a doubt, or refused."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from firstbake.colour import GEOMETRIES, delta_e00, grid_nm
from firstbake.errors import BadInput
from firstbake.target import Reading, compared_as, geometry_from_words, stated_as, target_lab

INCLUDED, EXCLUDED, OBLIQUE = GEOMETRIES
BODY = 0.2 + 0.4 / (1 + np.exp(-(grid_nm() - 480) / 30))


def reading(geometry, values=BODY):
    return Reading("x", grid_nm(), values, geometry=geometry)


@pytest.mark.parametrize(("now", "wanted"), list(itertools.product(GEOMETRIES, GEOMETRIES)))
def test_there_and_back_again_is_exact(now, wanted):
    there = compared_as(reading(now), wanted)
    back = compared_as(there.reading, now)
    np.testing.assert_allclose(back.reading.reflectance, BODY, atol=1e-12)
    assert (there.doubt_delta_e00 == 0.0) == (now == wanted)


def test_conversions_follow_the_published_factors():
    # Index 1.5: upright mirror part 0.04; share passed 0.3875 for d/8 and 0.4052 for 45/0, which are the
    # Fresnel integrals of that index, so the ratio of both is 1.0457.
    excluded = compared_as(reading(INCLUDED), EXCLUDED).reading.reflectance
    np.testing.assert_allclose(excluded, BODY - 0.04, atol=1e-12)
    oblique = compared_as(reading(EXCLUDED), OBLIQUE).reading.reflectance
    np.testing.assert_allclose(oblique / BODY, 0.4052 / 0.3875, rtol=3e-4)


def test_the_doubt_covers_another_index_and_a_duller_face():
    for wanted in (OBLIQUE, EXCLUDED):
        plain = compared_as(reading(INCLUDED), wanted)
        for index in (1.45, 1.55):
            other = compared_as(reading(INCLUDED), wanted, index=index)
            assert float(delta_e00(plain.lab, other.lab)) < 2 * plain.doubt_delta_e00
    assert compared_as(reading(OBLIQUE), EXCLUDED).doubt_delta_e00 < 0.3


def test_what_cannot_be_compared_is_refused():
    lab = Reading("x", lab=(70.0, 1.0, 15.0), illuminant="D65", observer="2", geometry=INCLUDED)
    assert compared_as(lab, INCLUDED).lab == (70.0, 1.0, 15.0)
    with pytest.raises(BadInput, match="cannot be compared as 45/0"):
        compared_as(lab, OBLIQUE)
    with pytest.raises(BadInput, match="does not say how it was looked at"):
        compared_as(reading(None), OBLIQUE)
    with pytest.raises(BadInput, match="less than the mirror reflection"):
        compared_as(reading(INCLUDED, np.full(31, 0.03)), OBLIQUE)
    with pytest.raises(BadInput, match="not one of"):
        compared_as(reading(OBLIQUE), "round the corner")
    assert stated_as(reading(None), OBLIQUE).geometry == OBLIQUE
    with pytest.raises(BadInput, match="already says"):
        stated_as(reading(INCLUDED), OBLIQUE)


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("45/0", OBLIQUE), ("45°a:0°", OBLIQUE), ("0/45", OBLIQUE), ("45°c:0°", OBLIQUE), ("45 / 0", OBLIQUE),
        ("d/8 SCI", INCLUDED), ("di:8°", INCLUDED), ("d/8 specular incl", INCLUDED), ("d/8 SPIN", INCLUDED),
        ("de:8°", EXCLUDED), ("d/8 Specular Excluded", EXCLUDED), ("d/8 SPEX", EXCLUDED),
        ("d/8", None), ("", None), ("d/8 and 45/0", None), ("SCI and SCE", None), ("15/45", None),
    ],
)  # fmt: skip
def test_spellings_of_geometries(words, wanted):
    assert geometry_from_words(words) == wanted


def test_lab_of_a_spectrum_agrees_with_an_independent_sum():
    colour = pytest.importorskip("colour")
    # colour-science, summed over the same curve at 1 nm, D65, 2 degrees.
    shape = colour.SpectralShape(360, 780, 1)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    light = colour.SDS_ILLUMINANTS["D65"].copy().align(shape)
    nm = shape.wavelengths
    curve = 0.2 + 0.4 / (1 + np.exp(-(nm - 480) / 30))
    sd = colour.SpectralDistribution(dict(zip(nm, curve, strict=True)))
    xyz = colour.sd_to_XYZ(sd, observer, light, method="Integration")
    white = colour.sd_to_XYZ(colour.sd_ones(shape), observer, light, method="Integration")
    lab = colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(white / 100))
    assert float(delta_e00(target_lab(reading(OBLIQUE)), lab)) < 0.02


@pytest.mark.parametrize(
    "change",
    [
        {"reflectance": BODY * 9}, {"reflectance": BODY[:-1]}, {"reflectance": BODY * np.nan},
        {"reflectance": np.where(grid_nm() == 550, 0.1, BODY)},
        {"reflectance": None, "wavelength_nm": None}, {"wavelength_nm": None}, {"geometry": "d/8"},
        {"lab": (float("nan"), 0.0, 0.0)}, {"wavelength_nm": grid_nm()[::-1]},
    ],
)  # fmt: skip
def test_no_reading_holds_nonsense(change):
    with pytest.raises(BadInput):
        replace(reading(OBLIQUE), **change)
