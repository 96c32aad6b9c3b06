"""Outlines have the true size, and the raster sees what lies nearest."""

import numpy as np
import pytest
from handmade import frame_of
from scipy.spatial import ConvexHull

from firstbake.mesh import Surface
from firstbake.sheet import raster_of, view_of
from firstbake.sheet.outline import level_lines, outline_of, thinned


def sphere(radius, n=60):
    v, u = np.meshgrid(
        np.linspace(0, np.pi, n), np.linspace(0, 2 * np.pi, 2 * n, endpoint=False), indexing="ij"
    )
    points = radius * np.stack([np.sin(v) * np.cos(u), np.sin(v) * np.sin(u), np.cos(v)], -1).reshape(-1, 3)
    hull = ConvexHull(np.unique(np.round(points, 12), axis=0))
    return Surface(hull.points, hull.simplices)


@pytest.mark.parametrize("name", ["labial", "incisal", "mesial"])
def test_the_outline_of_a_sphere_is_its_great_circle(name):
    frame = frame_of("21", 10.0)
    ball = sphere(4.0)
    view = view_of(frame, name)
    moved = ball.moved(ball.vertices_mm + view.origin_mm)
    (line,) = outline_of(moved, view)
    assert np.abs(np.linalg.norm(line, axis=1) - 4.0).max() < 0.02
    assert np.ptp(line, axis=0) == pytest.approx([8.0, 8.0], abs=0.03)


def test_an_annulus_gives_two_closed_lines():
    y, x = np.indices((80, 90))
    distance = np.hypot(x - 45, y - 40)
    lines = level_lines(10 - np.abs(distance - 20), 0.0)
    radii = sorted(float(np.hypot(*(line - [45, 40]).T).mean()) for line in lines)
    assert radii == pytest.approx([10.0, 30.0], abs=0.1)


def test_thinning_keeps_every_point_within_the_slack():
    angle = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    ring = np.stack([5 * np.cos(angle), 3 * np.sin(angle)], axis=1)
    kept = thinned(ring, closed=True, slack=0.01)
    assert 8 < len(kept) < 200
    closed = np.vstack([kept, kept[:1]])
    a, way = closed[:-1], np.diff(closed, axis=0)
    share = np.clip(np.einsum("nki,ki->nk", ring[:, None] - a, way) / (way**2).sum(1), 0, 1)
    away = np.linalg.norm(ring[:, None] - a - share[..., None] * way, axis=2).min(axis=1)
    assert away.max() <= 0.01 + 1e-9


def test_the_nearer_triangle_hides_the_farther_and_weights_blend_exactly():
    points = np.array([[1.0, 1], [30, 2], [4, 28], [1, 1], [30, 2], [4, 28]])
    depth = np.array([0.0, 0, 0, 1, 1, 1])
    faces = np.array([[0, 1, 2], [3, 4, 5]], dtype=np.int32)
    raster = raster_of(points, depth, faces, shape=(32, 34))
    hit = raster.face >= 0
    area = 0.5 * abs(np.linalg.det(np.array([points[1] - points[0], points[2] - points[0]])))
    assert set(raster.face[hit].tolist()) == {1}
    assert hit.sum() == pytest.approx(area, rel=0.06)
    row, column = np.nonzero(hit)
    columns = raster.blend(faces, points[:, 0])
    assert np.allclose(columns[hit], column, atol=1e-6)
    assert np.allclose(raster.blend(faces, points[:, 1])[hit], row, atol=1e-6)
