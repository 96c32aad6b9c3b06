"""Pictures of colour: the crown in its predicted colours, the stump, spectra, colour against room."""

import io
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "sheet"))

import handmade

from firstbake.colour import ColourMap, ThicknessCurve, srgb_from_lab
from firstbake.files.picture_words import SIZE, crown_box
from firstbake.files.pictures import plan_pictures

LAB = (76.0, 2.0, 18.0)


def whole_map(plan, lab, masking=0.0):
    count = len(plan.case.contour.surface.vertices_mm)
    flat = np.tile(np.array(lab), (count, 1))
    none = np.zeros(count, dtype=bool)
    return ColourMap(
        flat,
        srgb_from_lab(flat),
        np.ones(count),
        none,
        none,
        np.full(count, masking),
        np.zeros(count),
        "",
        (),
    )


def with_colour(plan, masking=0.0):
    room = np.linspace(0.3, 2.0, 20)
    lab = np.column_stack([70 + 3 * room, 2 + 0 * room, 20 - 2 * room])
    curve = ThicknessCurve(room, lab, np.full((20, 3), 0.8), 0.9)
    seen = np.linspace(0.3, 0.6, 31)
    zones = tuple(
        replace(zone, reflectance=seen + 0.05 * k, reflectance_sd=np.full(31, 0.02), curve=curve)
        for k, zone in enumerate(plan.colour)
    )
    return replace(plan, colour=zones, colour_map=whole_map(plan, LAB, masking))


@pytest.fixture(scope="module")
def drawn():
    return {
        p.name: p
        for p in plan_pictures(with_colour(handmade.plan_of("11", rings=30, around=60), masking=2.0))
    }


def pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def test_a_plan_with_colour_has_its_four_pictures_of_one_size(drawn):
    names = {"colour-labial", "masking-labial", "spectra", "thickness-colour"}
    assert names <= set(drawn)
    assert {Image.open(io.BytesIO(drawn[name].png)).size for name in names} == {SIZE}
    assert "without shading" in drawn["colour-labial"].words
    assert "planned" in drawn["thickness-colour"].words
    assert drawn["masking-labial"].words.endswith("median 2.00")


def test_the_crown_shows_the_predicted_colour_itself_without_shading(drawn):
    left, top, right, bottom = crown_box()
    image = pixels(drawn["colour-labial"].png)[top + 60 : bottom - 60, (left + right) // 2]
    wanted = np.round(255 * srgb_from_lab(np.array(LAB)))
    assert np.abs(image - wanted).max() <= 2


def test_charts_are_the_same_bytes_twice_and_differ_for_other_colours(drawn):
    plan = with_colour(handmade.plan_of("11", rings=30, around=60), masking=2.0)
    again = {p.name: p for p in plan_pictures(plan)}
    for name in ("colour-labial", "spectra", "thickness-colour"):
        assert again[name].png == drawn[name].png
    brighter = tuple(replace(z, reflectance=z.reflectance + 0.1) for z in plan.colour)
    other = {p.name: p for p in plan_pictures(replace(plan, colour=brighter))}
    assert other["spectra"].png != drawn["spectra"].png


def test_a_plan_without_spectra_has_none_of_them():
    names = {p.name for p in plan_pictures(handmade.plan_of("11", rings=30, around=60))}
    assert not names & {"colour-labial", "masking-labial", "spectra", "thickness-colour"}
