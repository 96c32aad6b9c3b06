"""Colours from a photograph of a card: within the stated error, or refused with the reason."""

from dataclasses import replace

import numpy as np
import pytest
from card_scene import FIELDS, TEETH, card, photograph, to_px, zones

from firstbake.colour import delta_e00
from firstbake.errors import BadInput
from firstbake.files.photo_pixels import find_marks
from firstbake.target import (
    CLIPPED,
    MOST_ERROR_DELTA_E00,
    Picture,
    colours_of_photo,
    fit_camera,
    printed_patches,
)
from firstbake.target.pixels import inside


def picture(**scene) -> Picture:
    linear = photograph(**scene).astype(np.float32)
    return Picture(linear, (linear >= CLIPPED).any(axis=2), True)


def read(shot, *, of=None, where=None, dried_minutes=1.0):
    corners = find_marks(shot, "4x4_50")
    return colours_of_photo(
        shot, of or card(), corners, zones=zones() if where is None else where, dried_minutes=dried_minutes
    )


def off(found):
    return {z.name: float(delta_e00(z.lab, TEETH[z.name])) for z in found.zones}


@pytest.fixture(scope="module")
def plain():
    shot = picture()
    return shot, read(shot)


def test_held_out_teeth_come_back_within_the_stated_error(plain):
    _, found = plain
    assert set(off(found)) == set(TEETH)
    for zone in found.zones:
        assert off(found)[zone.name] < 0.5
        assert off(found)[zone.name] < zone.doubt_delta_e00
        assert 0.5 < zone.doubt_delta_e00 < 2.5
        assert max(zone.spread_lab) < 2.0
    assert found.camera.error_delta_e00 < 0.6
    assert not found.left_out


def test_the_card_is_placed_to_a_third_of_a_pixel(plain):
    _, found = plain
    places = np.array([patch.centre_mm for patch in card().patches])
    moved = np.hstack([places, np.ones((len(places), 1))]) @ found.transform.T
    assert np.abs(moved[:, :2] / moved[:, 2:] - to_px(places)).max() < 0.35


@pytest.mark.parametrize("exposure", [0.3, 0.95])
def test_exposure_and_noise_change_little(exposure):
    found = read(picture(exposure=exposure, noise=0.008, seed=5))
    assert max(off(found).values()) < 0.8


def test_glare_on_patches_and_zones_stays_out():
    p = {patch.name: patch.centre_mm for patch in card().patches}
    spots = [p["p09"], (p["p12"][0] + 1.5, p["p12"][1] + 1.0), FIELDS["body"]]
    shot = picture(glare=spots)
    found = read(shot)
    body = next(z for z in found.zones if z.name == "body")
    assert body.left_out > 0.05
    assert max(off(found).values()) < 0.8
    # With the glare kept in, the plain mean of that zone would be far off.
    rows, columns, mask = inside(zones()["body"], shot.clipped.shape)
    naive = found.camera.lab(shot.linear[rows, columns][mask].mean(axis=0))
    assert float(delta_e00(naive, TEETH["body"])) > 3.0


def test_clipped_patches_are_left_out_by_name_and_the_rest_still_fits():
    found = read(picture(exposure=1.35), where=zones())
    assert "p08" in dict(found.left_out)
    assert "clipped" in dict(found.left_out)["p08"]
    assert max(off(found).values()) < 0.8


def test_a_missing_mark_is_named():
    with pytest.raises(BadInput, match="corner mark 2 of the card was not found"):
        read(picture(without_mark=2))


def test_too_dark_is_refused():
    with pytest.raises(BadInput, match="too dark"):
        read(picture(exposure=0.03, noise=0.0))


def test_another_cards_values_are_refused_above_the_limit():
    nominal = [lab for _, lab, _ in printed_patches()]
    labs = {f"p{k + 1:02d}": nominal[(k + 5) % len(nominal)] for k in range(len(nominal))}
    with pytest.raises(BadInput, match=rf"{MOST_ERROR_DELTA_E00:g} is the limit"):
        read(picture(), of=card(labs))


def test_a_card_of_another_layout_is_refused(plain):
    shot, _ = plain
    other = card()
    marks = tuple(
        replace(m, centre_mm=(m.centre_mm[0], m.centre_mm[1] * 0.8 + m.number)) for m in other.marks
    )
    with pytest.raises(BadInput, match=r"another card|limit"):
        read(shot, of=replace(other, marks=marks))


def test_zones_outside_or_mirroring_are_refused(plain):
    shot, _ = plain
    with pytest.raises(BadInput, match="reaches out"):
        read(shot, where={"body": np.array([[5000.0, 10], [5100, 10], [5100, 80]])})
    with pytest.raises(BadInput, match="covers"):
        read(shot, where={"body": np.array([[500.0, 500], [502, 500], [502, 502]])})
    wet = Picture(shot.linear, np.ones_like(shot.clipped), True)
    with pytest.raises(BadInput, match="patches can be used"):
        read(wet, where={})


def test_dry_teeth_are_told():
    shot = picture()
    for minutes, told in ((None, "not said how long"), (12.0, "dry for 12 minutes")):
        found = read(shot, where={}, dried_minutes=minutes)
        assert any(told in note for note in found.notes)
    assert not any("dry" in note for note in read(shot, where={}).notes)


def test_the_fit_finds_a_known_matrix_and_its_left_out_error_is_honest():
    rng = np.random.default_rng(3)
    matrix = np.array([[1.4, 0.3, 0.2], [0.6, 1.2, -0.1], [0.05, -0.1, 1.6]]) * 60
    rgb = rng.uniform(0.1, 0.9, (24, 3))
    names = tuple(f"p{k}" for k in range(24))
    exact = fit_camera(rgb, rgb @ matrix.T, names=names)
    np.testing.assert_allclose(exact.matrix, matrix, rtol=0.02, atol=0.5)
    noisy = fit_camera(rgb * (1 + 0.01 * rng.standard_normal(rgb.shape)), rgb @ matrix.T, names=names)
    assert exact.error_delta_e00 < 0.1 < noisy.error_delta_e00
    with pytest.raises(BadInput, match="only 5 patches"):
        fit_camera(rgb[:5], rgb[:5] @ matrix.T, names=names[:5])
