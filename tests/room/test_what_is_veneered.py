"""Porcelain is told from root, from the inside of a coping and from the inside of a crown."""

from collections.abc import Callable

import numpy as np
import pytest
from room_shapes import case_of, cup, joined, lidded, sphere, upright

from firstbake.errors import BadCase
from firstbake.mesh import Surface
from firstbake.room import measure_room

SHELL_MM3 = 2 / 3 * np.pi * (5.0**3 - 4.2**3)
"""Half a sphere shell from 4.2 to 5 mm."""


def test_a_lidded_shell_is_closed_and_has_its_volume() -> None:
    shell = lidded(cup(4.2), cup(3.7))
    assert shell.is_closed
    assert shell.volume_mm3 == pytest.approx(2 / 3 * np.pi * (4.2**3 - 3.7**3), rel=3e-3)


def test_a_closed_tooth_over_an_open_core_is_porcelain_down_to_the_margin() -> None:
    case = case_of(sphere(5.0, rings=80), cup(4.2, rings=40))
    room = measure_room(case, upright())
    height = case.contour.surface.vertices_mm[:, 2]
    assert room.veneered[height > 0.1].all()
    assert not room.veneered[height < -1.2].any()
    # the contour hangs 0.8 mm over the margin, and up to 20 degrees below it count as porcelain
    assert room.volume_mm3 == pytest.approx(SHELL_MM3, rel=0.04)
    assert any("goes on past the margin of the core" in note for note in room.notes)


def thimble(radius_mm: float, *, rings: int = 50) -> Surface:
    """A deep cup, 1.6 times as high as wide, so that its walls look at each other as a coping's do."""
    shape = cup(radius_mm, rings=rings)
    return shape.moved(shape.vertices_mm * [1.0, 1.0, 1.6])


def test_a_hollow_coping_counts_by_its_outside() -> None:
    coping = lidded(thimble(4.2), thimble(3.7))
    open_core = measure_room(case_of(thimble(5.0), thimble(4.2)), upright())
    room = measure_room(case_of(thimble(5.0), coping), upright())
    assert room.volume_mm3 == pytest.approx(open_core.volume_mm3, rel=0.01)
    assert room.thickness_mm == pytest.approx(open_core.thickness_mm, abs=1e-9)
    assert room.margin_mm == pytest.approx(open_core.margin_mm, abs=0.6)
    assert any("hollow" in note for note in room.notes)


@pytest.mark.parametrize("shape", [cup, thimble])
@pytest.mark.parametrize("hollow", [False, True])
def test_the_inside_of_a_whole_crown_is_no_porcelain(hollow: bool, shape: Callable[..., Surface]) -> None:
    crown = lidded(shape(5.0, rings=40), shape(3.7, rings=40))
    core = lidded(shape(4.2, rings=40), shape(3.7, rings=40)) if hollow else shape(4.2, rings=40)
    room = measure_room(case_of(crown, core, most_unsupported_mm=3.0), upright())
    outside = np.arange(len(crown.vertices_mm)) < 3201
    high = crown.vertices_mm[:, 2] > 0.1
    assert room.veneered[outside & high].all()
    assert not room.veneered[~outside & high].any()
    plain = measure_room(case_of(shape(5.0, rings=40), shape(4.2, rings=40)), upright())
    assert room.volume_mm3 == pytest.approx(plain.volume_mm3, rel=0.02)
    assert room.thickness_mm[room.veneered].min() > -0.01


def test_porcelain_alone_as_a_closed_body_over_a_solid_core() -> None:
    veneer = lidded(cup(5.0, rings=40), cup(4.2, rings=40))
    room = measure_room(case_of(veneer, sphere(4.2, rings=40)), upright())
    assert room.volume_mm3 == pytest.approx(veneer.volume_mm3, rel=0.02)
    assert np.median(room.thickness_mm[room.veneered]) == pytest.approx(0.8, abs=2e-3)


def test_an_open_contour_over_a_whole_tooth_leaves_the_root_bare() -> None:
    room = measure_room(case_of(cup(5.0, rings=40), sphere(4.2, rings=40)), upright())
    assert room.veneered.all()
    assert room.volume_mm3 == pytest.approx(SHELL_MM3, rel=0.03)
    assert any("stays bare" in note for note in room.notes)


def test_two_whole_teeth_that_share_their_root_are_veneered_on_the_crown_only() -> None:
    root = sphere(4.2, rings=60)
    z = root.vertices_mm[:, 2]
    swell = 1 + 0.8 / 4.2 * np.clip((z + 1.0) / 0.3, 0, 1)
    contour = root.moved(root.vertices_mm * swell[:, None])
    room = measure_room(case_of(contour, root), upright())
    assert not room.veneered[z < -1.2].any()
    assert room.veneered[z > 0].all()
    assert room.volume_mm3 == pytest.approx(contour.volume_mm3 - root.volume_mm3, rel=1e-6)
    assert room.thin == ()


def test_surfaces_in_different_places_are_refused() -> None:
    far = sphere(4.2, rings=20, centre=(40.0, 0, 0))
    with pytest.raises(BadCase, match=r"(?s)(apart on the median|lies outside).*(coordinates)"):
        measure_room(case_of(sphere(5.0, rings=20), far), upright())


def test_swapped_surfaces_are_refused() -> None:
    with pytest.raises(BadCase, match="swapped"):
        measure_room(case_of(cup(4.2, rings=30), cup(5.0, rings=30)), upright())


def test_strays_in_the_contour_do_not_stop_the_measuring() -> None:
    contour = joined(cup(5.0, rings=40), sphere(0.2, rings=6, centre=(0, 0, 6.0)))
    room = measure_room(case_of(contour, cup(4.2, rings=40)), upright())
    assert room.veneered[: 40 * 80].all()
