"""Pictures of maps: the same bytes, never mirrored, readable without colour."""

import io
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "sheet"))

import handmade

from firstbake.errors import BadCase, BadSum
from firstbake.files.picture_style import ENAMEL, OVERBUILD, ROOM, MapStyle, coded, linear
from firstbake.files.picture_words import SIZE, crown_box
from firstbake.files.pictures import crown_picture, plan_pictures
from firstbake.sheet import view_of

SIGNED = MapStyle("bite, mm", -0.5, 0.5, 0.1, "vik", signed=True, band=0.05)


@pytest.fixture(scope="module")
def plan():
    return handmade.plan_of("11")


def pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def test_pictures_are_png_of_one_size_and_the_same_twice(plan):
    first = plan_pictures(plan)
    surface = plan.case.contour.surface
    again = crown_picture(surface, plan.frame, plan.green.overbuild_mm, style=OVERBUILD, view="labial")
    assert again == next(p.png for p in first if p.name == "overbuild-labial")
    assert len({p.name for p in first}) == len(first)
    assert {Image.open(io.BytesIO(p.png)).size for p in first} == {SIZE}
    assert {"room-labial", "room-palatal", "room-incisal", "overbuild-labial", "enamel-labial"} <= {
        p.name for p in first
    }
    assert sum(p.on_sheet for p in first) == 3


@pytest.mark.parametrize(
    ("number", "mesial_at"), [("11", "right"), ("21", "left"), ("31", "left"), ("41", "right")]
)
def test_a_mark_at_the_mesial_side_shows_where_the_midline_is(number, mesial_at):
    """A field that is high on the mesial half only: the darker half must be the one toward the midline."""
    plan = handmade.plan_of(number, rings=30, around=60)
    surface = plan.case.contour.surface
    field = np.where(plan.frame.to_local(surface.vertices_mm)[:, 0] > 0, 1.9, 0.1)
    image = pixels(crown_picture(surface, plan.frame, field, style=ROOM, view="labial"))
    left, top, right, bottom = crown_box()
    middle, row = (left + right) // 2, (top + bottom) // 2
    light = [image[row - 40 : row + 40, c : c + 30].mean() for c in (middle - 70, middle + 40)]
    assert (light[0] < light[1]) == (mesial_at == "left")


def test_the_crown_has_the_scale_of_its_bar(plan):
    surface = plan.case.contour.surface
    image = pixels(
        crown_picture(surface, plan.frame, np.full(len(surface.vertices_mm), 1.0), style=ROOM, view="labial")
    )
    dark = image[SIZE[1] - 14, :600].sum(axis=1) < 150
    first = int(np.argmax(dark))
    px_per_mm = int(np.argmin(dark[first:])) / 5.0
    seen = view_of(plan.frame, "labial").seen(surface.vertices_mm)
    left, top, right, bottom = crown_box()
    inside = (image[top - 6 : bottom + 6, left:right] < 245).any(axis=2)
    rows = np.flatnonzero(inside[:, 250:320].any(axis=1))
    assert np.ptp(rows) / px_per_mm == pytest.approx(np.ptp(seen[:, 1]), rel=0.03)


def test_a_hatched_patch_reads_without_colour(plan):
    surface = plan.case.contour.surface
    field = np.full(len(surface.vertices_mm), 1.1)
    local = plan.frame.to_local(surface.vertices_mm)
    patch = (np.hypot(local[:, 0], local[:, 2] - 5) < 1.5) & (local[:, 1] > 0)
    plain, hatched = (
        pixels(crown_picture(surface, plan.frame, field, style=ROOM, view="labial", patch=p)).mean(axis=2)
        for p in (None, patch)
    )
    changed = np.abs(plain - hatched) > 40
    assert 500 < changed.sum() < 20000
    assert hatched[changed].mean() < plain[changed].mean()


def test_signs_stand_on_a_signed_map_beyond_its_band_only(plan):
    surface = plan.case.contour.surface
    n = len(surface.vertices_mm)
    inside = pixels(crown_picture(surface, plan.frame, np.full(n, 0.02), style=SIGNED, view="labial"))
    outside = pixels(crown_picture(surface, plan.frame, np.full(n, 0.32), style=SIGNED, view="labial"))
    left, top, right, bottom = crown_box()
    middle = (slice(top + 60, bottom - 60), slice((left + right) // 2 - 90, (left + right) // 2 + 90))
    dark = [(image[middle].sum(axis=2) < 200).sum() for image in (inside, outside)]
    assert dark[0] == 0
    assert dark[1] > 100


@pytest.mark.parametrize("style", [ROOM, OVERBUILD, ENAMEL])
def test_sequential_maps_run_one_way_in_lightness(style):
    """Y of CIE XYZ (ITU-R BT.709 weights) falls all along the map, so grey print keeps the order."""
    light = style.paint(np.linspace(style.low, style.high, 60)) @ [0.2126, 0.7152, 0.0722]
    assert (np.diff(light) < 1e-4).all()


def test_the_signed_map_is_palest_at_nought_and_flat_within_its_band():
    values = np.linspace(-0.5, 0.5, 101)
    light = SIGNED.paint(values) @ [0.2126, 0.7152, 0.0722]
    assert light.argmax() in np.flatnonzero(np.abs(values) <= 0.051)
    assert np.allclose(SIGNED.paint(np.array([-0.04, 0.04])), SIGNED.paint(np.zeros(1)))


def test_coding_of_light_goes_there_and_back():
    values = np.linspace(0, 1, 200)
    assert np.allclose(coded(linear(values)), values, atol=1e-6)
    assert float(linear(np.array([0.5]))[0]) == pytest.approx(0.21404, abs=1e-5)  # IEC 61966-2-1


def test_wrong_fields_and_views_are_refused_with_a_reason(plan):
    surface = plan.case.contour.surface
    field = np.zeros(len(surface.vertices_mm))
    with pytest.raises(BadSum, match="one finite value for each vertex"):
        crown_picture(surface, plan.frame, field[:-1], style=ROOM, view="labial")
    with pytest.raises(BadSum, match="one finite value for each vertex"):
        crown_picture(surface, plan.frame, field * np.nan, style=ROOM, view="labial")
    with pytest.raises(BadCase, match="no view"):
        crown_picture(surface, plan.frame, field, style=ROOM, view="underneath")


def test_the_worst_number_is_printed_on_the_side_where_it_is_seen(plan):
    surface = plan.case.contour.surface
    field = np.full(len(surface.vertices_mm), 1.1)
    front = surface.vertices_mm[np.argmax(surface.vertices_mm @ plan.frame.axes[1])]
    pictures = {
        view: [
            pixels(crown_picture(surface, plan.frame, field, style=ROOM, view=view, mark=mark))
            for mark in (None, ("0.35", front))
        ]
        for view in ("labial", "inner")
    }
    changed = {view: (plain != marked).any(axis=2).sum() for view, (plain, marked) in pictures.items()}
    assert changed["labial"] > 500
    assert changed["inner"] == 0


def test_the_sheet_shows_the_green_cut_back_and_nothing_below_the_margin(plan):
    assert {p.name for p in plan_pictures(plan) if p.on_sheet} >= {"overbuild-labial", "cut-back-labial"}
    veneered = plan.frame.to_local(plan.case.contour.surface.vertices_mm)[:, 2] > 3.0
    low = handmade.changed(plan, room=handmade.changed(plan.room, veneered=veneered))
    whole, part = (
        next(pixels(p.png) for p in plan_pictures(q) if p.name == "overbuild-labial") for q in (plan, low)
    )
    left, top, right, bottom = crown_box()
    wide = [
        np.ptp(np.flatnonzero((image[top:bottom, left:right].min(axis=2) < 120).any(axis=0)))
        for image in (whole, part)
    ]
    assert wide[1] > wide[0]  # the shorter crown is drawn larger
