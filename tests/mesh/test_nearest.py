"""Distances against a brute-force search written here."""

import numpy as np
import pytest
from solids import sphere, torus

from firstbake.mesh import Surface, cast_rays, nearest, signed_distance


def point_triangle_mm(point: np.ndarray, a: np.ndarray, b: np.ndarray, c: np.ndarray) -> np.ndarray:
    """(m,) distances of one point to m triangles: the plane where its foot lies inside, else the edges."""
    best = np.full(len(a), np.inf)
    for p, q in ((a, b), (b, c), (c, a)):
        along = q - p
        share = np.clip(((point - p) * along).sum(1) / (along * along).sum(1), 0, 1)
        best = np.minimum(best, np.linalg.norm(p + share[:, None] * along - point, axis=1))
    normal = np.cross(b - a, c - a)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    height = ((point - a) * normal).sum(1)
    foot = point - height[:, None] * normal
    inside = np.ones(len(a), dtype=bool)
    for p, q in ((a, b), (b, c), (c, a)):
        inside &= (np.cross(q - p, foot - p) * normal).sum(1) >= 0
    return np.where(inside, np.minimum(best, np.abs(height)), best)


@pytest.mark.parametrize("shape", [torus(6, 2, 20), sphere(5, 16, to=2.0)])
def test_thickness_agrees_with_brute_force_on_300_points(shape: Surface) -> None:
    rng = np.random.default_rng(7)
    low, high = shape.bounds_mm
    points = rng.uniform(low - 1, high + 1, (300, 3))
    corners = [shape.vertices_mm[shape.faces[:, k]] for k in range(3)]
    brute = np.array([point_triangle_mm(p, *corners).min() for p in points])
    found = nearest(shape, points)
    assert np.abs(found.distance_mm - brute).max() < 1e-9  # asked: 1 µm
    assert np.allclose(np.linalg.norm(found.foot_mm - points, axis=1), brute, atol=1e-9)


def test_sign_is_inside_negative_also_for_a_cup_above_its_margin() -> None:
    rng = np.random.default_rng(3)
    points = rng.uniform(-6, 6, (300, 3))
    truth = np.linalg.norm(points, axis=1) - 5
    clear = np.abs(truth) > 0.1
    ball = signed_distance(sphere(5, 60), points).distance_mm
    assert np.allclose(ball[clear], truth[clear], atol=0.02)
    above = clear & (points[:, 2] > -1.0)
    cup = signed_distance(sphere(5, 60, to=2.2), points).distance_mm
    assert (np.sign(cup[above]) == np.sign(truth[above])).all()


def test_rays_hit_at_the_right_distance_or_miss() -> None:
    origins = np.array([[0, 0, 9.0], [0, 0, 9.0]])
    distance, face = cast_rays(sphere(5, 30), origins, np.array([[0, 0.001, -3.0], [0, 0, 1.0]]))
    assert distance[0] == pytest.approx(4.0, abs=0.02)
    assert face[0] >= 0 and face[1] == -1 and np.isnan(distance[1])
