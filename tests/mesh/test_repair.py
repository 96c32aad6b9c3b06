"""Dirty meshes are healed to the same shape, and every repair is said."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from solids import ball, cube, sphere

from firstbake.errors import BadMesh
from firstbake.mesh import Repair, Surface, heal

POINTS, FACES = ball(5, 24)
CLEAN = Surface(POINTS, FACES)


def said(repairs: tuple[Repair, ...]) -> str:
    return " | ".join(repair.sentence for repair in repairs)


def test_a_clean_surface_passes_unchanged_and_unmentioned() -> None:
    for to in (np.pi, 2.0):
        clean = sphere(5, 24, to=to)
        healed, repairs = heal(clean.vertices_mm, clean.faces, name="a.ply")
        assert repairs == ()
        assert (healed.vertices_mm == clean.vertices_mm).all()
        assert (healed.faces == clean.faces).all()


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.05, 0.45), st.sampled_from([np.pi, 2.0, 1.2]))
def test_flipped_faces_are_turned_back(seed: int, share: float, to: float) -> None:
    clean = sphere(5, 24, to=to)
    faces = clean.faces.copy()
    flipped = np.random.default_rng(seed).random(len(faces)) < share
    faces[flipped] = faces[flipped][:, ::-1]
    healed, repairs = heal(clean.vertices_mm, faces, name="a.stl")
    assert healed.volume_mm3 == pytest.approx(clean.volume_mm3, rel=1e-12)
    assert sum(repair.count for repair in repairs) == int(flipped.sum())


@pytest.mark.parametrize("to", [np.pi, 2.6, 2.0, 1.2])
def test_inside_out_shells_are_turned_outwards_open_cups_too(to: float) -> None:
    clean = sphere(5, 24, to=to, centre=(40, -30, 7))
    healed, repairs = heal(clean.vertices_mm, clean.faces[:, ::-1], name="a.stl")
    assert healed.volume_mm3 == pytest.approx(clean.volume_mm3)
    assert said(repairs) == "a.stl: 1 body faced inwards and was turned outwards"


def test_a_soup_of_loose_triangles_is_welded() -> None:
    soup = POINTS[FACES].reshape(-1, 3) + np.random.default_rng(1).normal(0, 2e-7, (3 * len(FACES), 3))
    healed, repairs = heal(soup, np.arange(len(soup)).reshape(-1, 3), name="a.obj")
    assert healed.is_closed and len(healed.vertices_mm) == len(POINTS)
    assert healed.volume_mm3 == pytest.approx(CLEAN.volume_mm3, rel=1e-6)
    assert repairs[0].count == len(soup) - len(POINTS)


@pytest.mark.parametrize("scale", [1e-3, 1.0, 1e3])
def test_welding_is_relative_to_the_size(scale: float) -> None:
    healed, _ = heal(POINTS * scale, FACES, name="a.ply")
    assert len(healed.vertices_mm) == len(POINTS)


def test_doubled_degenerate_and_stray_faces_are_dropped_with_counts() -> None:
    extra = np.array([[30, 0, 0], [31, 0, 0], [30, 1, 0], [60, 60, 60]])
    stray = len(POINTS) + np.array([[0, 1, 2]])
    faces = np.vstack([FACES, FACES[:100], FACES[200:250][:, ::-1], [[1, 1, 2]], stray])
    healed, repairs = heal(np.vstack([POINTS, extra]), faces, name="a.ply")
    assert healed.volume_mm3 == pytest.approx(CLEAN.volume_mm3, rel=1e-12)
    assert said(repairs) == (
        "a.ply: 1 face without area was dropped | a.ply: 150 doubled faces were dropped | "
        "a.ply: 1 vertex that no face needs was dropped | a.ply: 1 stray shell of 1 face was dropped"
    )


def test_a_fin_and_an_inner_wall_are_dropped() -> None:
    equator = 1 + 11 * 48 + np.arange(48)
    centre = len(POINTS)
    wall = np.column_stack([equator, np.roll(equator, -1), np.full(48, centre)])
    fin = [[100, 101, centre + 1]]
    healed, repairs = heal(
        np.vstack([POINTS, [[0, 0, 0], [6, 6, 6]]]), np.vstack([FACES, wall, fin]), name="a.stl"
    )
    assert healed.volume_mm3 == pytest.approx(CLEAN.volume_mm3, rel=1e-12)
    assert "49 faces at edges with three or more faces" in said(repairs)


def test_small_holes_are_closed_and_the_margin_stays_open() -> None:
    cup = sphere(5, 40, to=2.0)
    holes = [100, 101, 900, 2000, 2001, 2002]
    healed, repairs = heal(cup.vertices_mm, np.delete(cup.faces, holes, axis=0), name="core.stl")
    assert [len(loop) for loop in healed.loops] == [80]
    assert healed.volume_mm3 == pytest.approx(cup.volume_mm3, rel=2e-4)
    assert "small holes were closed" in said(repairs)


def test_holes_that_touch_in_a_vertex_are_closed() -> None:
    round_one = np.flatnonzero((FACES == 500).any(axis=1))
    healed, repairs = heal(POINTS, np.delete(FACES, round_one[[0, 3]], axis=0), name="a.stl")
    assert healed.is_closed
    assert healed.volume_mm3 == pytest.approx(CLEAN.volume_mm3, rel=1e-4)
    assert "closed" in said(repairs)


def test_bodies_that_touch_in_a_vertex_are_parted() -> None:
    a, b = cube(2.0), cube(2.0, (2, 2, 2))
    points, faces = np.vstack([a.vertices_mm, b.vertices_mm]), np.vstack([a.faces, b.faces + 8])
    healed, repairs = heal(points, faces, name="row.stl", several=True)
    assert len(healed.vertices_mm) == 16
    assert "1 vertex where the surface only touches itself was parted" in said(repairs)


def test_inside_out_inner_shell_is_dropped_and_named() -> None:
    inner, inner_faces = ball(1.0, 10)
    points = np.vstack([POINTS, inner])
    faces = np.vstack([FACES, inner_faces[:, ::-1] + len(POINTS)])
    for several in (False, True):
        healed, repairs = heal(points, faces, name="t.stl", several=several)
        assert healed.volume_mm3 == pytest.approx(CLEAN.volume_mm3, rel=1e-12)
        assert said(repairs) == f"t.stl: 1 inside-out shell of {len(inner_faces)} faces was dropped"


def test_a_row_keeps_its_bodies_and_a_single_tooth_must_be_one() -> None:
    other = POINTS + np.array([9.5, 0, 0])  # overlapping neighbours
    points, faces = np.vstack([POINTS, other]), np.vstack([FACES, FACES + len(POINTS)])
    row, repairs = heal(points, faces, name="row.ply", several=True)
    assert len(row.faces) == 2 * len(FACES) and repairs == ()
    with pytest.raises(BadMesh, match="several bodies"):
        heal(points, faces, name="row.ply")


def test_what_cannot_be_mended_is_refused() -> None:
    u = 2 * np.pi * np.arange(24) / 24
    band = np.vstack(
        [
            np.column_stack([r * np.cos(u), r * np.sin(u), s * np.sin(u / 2)])
            for s in (-2, 2)
            for r in [8 + s * np.cos(u / 2)]
        ]
    )
    i = np.arange(24)
    j = (i + 1) % 24
    low, high = np.where(j == 0, 24, j), np.where(j == 0, 0, j + 24)
    moebius = np.vstack([np.column_stack([i, low, high]), np.column_stack([i, high, i + 24])])
    with pytest.raises(BadMesh, match="one side only"):
        heal(band, moebius, name="m.stl")
    with pytest.raises(BadMesh, match="no face has an area"):
        heal(POINTS * [1, 0, 0], FACES, name="flat.stl")
    loose = np.random.default_rng(0).uniform(0, 10, (9000, 3))
    with pytest.raises(BadMesh, match="falls into 3000 pieces"):
        heal(loose, np.arange(9000).reshape(-1, 3), name="soup.stl")
