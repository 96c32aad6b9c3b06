"""Sections are exact, joined and turned the right way."""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from solids import cube, sphere, torus, tube

from firstbake.errors import BadMesh
from firstbake.mesh import Polyline, Surface, section


def area_seen_from(line: Polyline, normal: np.ndarray) -> float:
    p = line.points_mm
    return float(0.5 * np.cross(p, np.roll(p, -1, axis=0)).sum(axis=0) @ normal)


def test_cube_gives_a_square_with_the_inside_on_the_left() -> None:
    (line,) = section(cube(2.0), (0, 0, 0.3), (0, 0, 5))
    assert line.closed
    assert line.length_mm == pytest.approx(8.0, abs=1e-12)
    assert area_seen_from(line, np.array([0, 0, 1.0])) == pytest.approx(4.0, abs=1e-12)


@settings(max_examples=25, deadline=None)
@given(st.floats(-4.9, 4.9))
def test_area_of_a_slice_agrees_with_an_independent_slicer(z: float) -> None:
    ball = sphere(5, 16, turn=0.1)
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.array(ball.vertices_mm), np.array(ball.faces, dtype=np.uint64))
    )
    ours = sum(area_seen_from(line, np.array([0, 0, 1.0])) for line in section(ball, (0, 0, z), (0, 0, 1)))
    assert ours == pytest.approx(solid.slice(z).area(), abs=1e-6)


def test_every_point_lies_on_the_plane_and_on_the_surface() -> None:
    normal = np.array([0.3, -0.5, 0.8])
    (line,) = section(sphere(5, 30), (0.1, 0.2, 0.3), normal)
    height = (line.points_mm - [0.1, 0.2, 0.3]) @ normal
    assert np.abs(height).max() < 1e-12
    assert (np.linalg.norm(line.points_mm, axis=1) <= 5 + 1e-12).all()


def test_vertices_on_the_plane_do_not_break_the_line() -> None:
    (line,) = section(sphere(5, 16), (0, 0, 0), (1, 0, 0))
    assert line.closed
    assert area_seen_from(line, np.array([1.0, 0, 0])) == pytest.approx(
        0.5 * 32 * 25 * np.sin(2 * np.pi / 32)
    )


def test_a_hole_in_the_slice_turns_the_other_way() -> None:
    outer, inner = section(torus(6, 2, 24), (0, 0, 0.1), (0, 0, 1))
    assert outer.closed and inner.closed
    assert area_seen_from(outer, np.array([0, 0, 1.0])) > 0 > area_seen_from(inner, np.array([0, 0, 1.0]))


def test_an_open_surface_gives_open_lines() -> None:
    lines = section(tube(3, 8, around=24, along=4), (0, 0.05, 0), (0, 1, 0))
    assert [line.closed for line in lines] == [False, False]
    assert [line.length_mm for line in lines] == pytest.approx([8.0, 8.0])


def test_a_plane_that_misses_gives_nothing_and_one_without_normal_is_refused() -> None:
    assert section(cube(), (0, 0, 9), (0, 0, 1)) == ()
    with pytest.raises(BadMesh, match="normal"):
        section(cube(), (0, 0, 0), (0, 0, 0))


def test_two_bodies_give_two_lines() -> None:
    a, b = cube(2.0), cube(2.0, (5, 0, 0))
    both = Surface(np.vstack([a.vertices_mm, b.vertices_mm]), np.vstack([a.faces, b.faces + 8]))
    assert len(section(both, (0, 0, 0.2), (0, 0, 1))) == 2
