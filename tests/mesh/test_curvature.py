"""Curvatures of shapes whose curvature is known."""

import numpy as np
import pytest
from solids import sphere, torus, tube

from firstbake.mesh import Surface, principal_curvatures


@pytest.mark.parametrize("radius", [1.0, 4.0, 20.0])
def test_sphere_is_convex_with_one_over_its_radius(radius: float) -> None:
    first, second = principal_curvatures(sphere(radius, 40))
    for values in (first, second):
        assert np.median(values) == pytest.approx(1 / radius, rel=0.02)
        assert np.percentile(np.abs(values * radius - 1), 99) < 0.05
    assert (first >= second).all()


def test_inside_out_sphere_is_concave() -> None:
    ball = sphere(4, 30)
    first, _ = principal_curvatures(Surface(ball.vertices_mm, ball.faces[:, ::-1]))
    assert np.median(first) == pytest.approx(-0.25, rel=0.03)


def test_cylinder_bends_one_way_only() -> None:
    wall = tube(4, 10, around=60, along=24)
    middle = np.abs(wall.vertices_mm[:, 2] - 5) < 3
    first, second = principal_curvatures(wall)
    assert np.allclose(first[middle], 0.25, rtol=0.03)
    assert np.abs(second[middle]).max() < 0.005


def test_torus_is_saddle_shaped_inside() -> None:
    ring, pipe = 6.0, 2.0
    shape = torus(ring, pipe, 40)
    first, second = principal_curvatures(shape)
    out = np.hypot(shape.vertices_mm[:, 0], shape.vertices_mm[:, 1])
    # do Carmo, Differential Geometry of Curves and Surfaces, section 3-3: 1/r and cos v/(a + r cos v)
    assert np.abs(first - 1 / pipe).max() < 0.04
    assert np.abs(second - (out - ring) / pipe / out).max() < 0.02


def test_bad_and_lonely_vertices_get_a_value() -> None:
    ball = sphere(5, 40)
    points = np.vstack([ball.vertices_mm, [[0, 0, 9], [1, 0, 9], [0, 1, 9], [40, 0, 0]]])
    faces = np.vstack([ball.faces, [[len(ball.vertices_mm) + k for k in range(3)]]])
    first, second = principal_curvatures(Surface(points, faces))
    assert np.isfinite(first).all() and np.isfinite(second).all()
    assert first[-1] == second[-1] == 0
    assert np.median(first) == pytest.approx(0.2, rel=0.03)
