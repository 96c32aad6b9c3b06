"""A disc with a free edge, bonded to a flat core, against the axisymmetric solution (axisymmetric.py)."""

from itertools import pairwise

import numpy as np
from axisymmetric import fired_disc
from scipy.spatial import cKDTree

from firstbake.fem import Body, fire
from firstbake.fem.tetrahedra import oriented

RADIUS, THICKNESS = 4.0, 1.0


def quarter_disc(rings, layers):
    """A quarter disc from rings of points: bonded below, planes of symmetry at x = 0 and y = 0."""
    from bodies import box

    points, tets = box((rings, rings, layers), (1.0, 1.0, 1.0))
    u, v = points[:, 0], points[:, 1]
    # square to quarter disc (elliptical map, Nowell 2005, from memory), finer toward the rim
    u, v = np.sin(u * np.pi / 2), np.sin(v * np.pi / 2)
    u, v = (w**0.9 for w in (u, v))
    places = np.column_stack([u * np.sqrt(1 - v**2 / 2), v * np.sqrt(1 - u**2 / 2)]) * RADIUS
    points = np.column_stack([places, points[:, 2] ** 1.5 * THICKNESS])
    held = np.column_stack([points[:, 0] < 1e-9, points[:, 1] < 1e-9, np.zeros(len(points), bool)])
    return Body(points, oriented(points, tets), points[:, 2] < 1e-9, held=held)


def curve_points(nodes, green):
    """The meridian of the free surface, from the middle of the top round the rim, drawn densely."""
    top = np.flatnonzero(np.abs(green[:, 1] - THICKNESS) < 1e-9)
    rim = np.flatnonzero(np.abs(green[:, 0] - RADIUS) < 1e-9)
    path = np.vstack([nodes[top[np.argsort(green[top, 0])]], nodes[rim[np.argsort(-green[rim, 1])]]])
    share = np.linspace(0, 1, 40)[:, None]
    return np.vstack([a + share * (b - a) for a, b in pairwise(path)])


def test_the_disc_agrees_with_the_axisymmetric_solution():
    fine, green = fired_disc(RADIUS, THICKNESS, green=0.6, end=0.98, counts=(48, 14), steps=8)
    coarse, green_coarse = fired_disc(RADIUS, THICKNESS, green=0.6, end=0.98, counts=(32, 10), steps=8)
    curve = curve_points(fine, green)
    away, _ = cKDTree(curve).query(curve_points(coarse, green_coarse))
    assert np.percentile(away, 99) < 4e-3  # the reference itself has settled
    body = quarter_disc(18, 6)
    fired = fire(body, green_density=0.6, end_density=0.98).nodes_mm
    outer = np.unique(body.free_faces)
    flat = np.column_stack([np.hypot(fired[outer, 0], fired[outer, 1]), fired[outer, 2]])
    miss, _ = cKDTree(curve).query(flat[fired[outer, 2] > 0.02])
    assert miss.max() < 10e-3
