"""Shells on a rigid ball and a rigid rod against one-dimensional solutions (round_shells.py)."""

import numpy as np
import pytest
from bodies import ball_shell, clipped
from round_shells import sure_radius

from firstbake.fem import Body, Curved, curved, fire, fire_quadratic

END = {"green_density": 0.6, "end_density": 0.98}


@pytest.fixture(scope="module")
def ball_mm():
    return sure_radius(3.0, 4.5, green=0.6, end=0.98, turns=2)


def ball_miss_um(step, ball_mm):
    body, free = ball_shell(step)
    fired = fire(body, **END)
    return (np.linalg.norm(fired.nodes_mm[free], axis=1) - ball_mm) * 1e3


def test_a_shell_on_a_ball_is_within_7_um(ball_mm):
    miss = ball_miss_um(0.8, ball_mm)
    assert abs(miss.mean()) < 3
    assert np.abs(miss).max() < 7


def test_the_ball_shell_converges(ball_mm):
    """Root mean square against the step: slope 1.7 or more (2 for elements of first order)."""
    steps = np.array([1.4, 0.7])
    rms = [np.sqrt((ball_miss_um(s, ball_mm) ** 2).mean()) for s in steps]
    assert np.log(rms[0] / rms[1]) / np.log(steps[0] / steps[1]) > 1.7


def test_curved_quadratic_elements_are_within_4_um_on_the_ball(ball_mm):
    body, free = ball_shell(0.95)
    mesh, edges = curved(body.nodes_mm, body.tets)
    nodes = mesh.nodes_mm.copy()
    for on, radius in ((body.bonded, 3.0), (free, 4.5)):
        faces = body.faces[on[body.faces].all(axis=1)]
        sides = {tuple(sorted((f[i], f[j]))) for f in faces.tolist() for i, j in ((0, 1), (1, 2), (0, 2))}
        rows = len(body.nodes_mm) + np.flatnonzero([tuple(e) in sides for e in edges.tolist()])
        nodes[rows] *= (radius / np.linalg.norm(nodes[rows], axis=1))[:, None]
    held = np.repeat((np.abs(np.linalg.norm(nodes, axis=1) - 3.0) < 1e-9)[:, None], 3, axis=1)
    fired = fire_quadratic(Curved(nodes, mesh.cells), held, **END)
    top = np.abs(np.linalg.norm(nodes, axis=1) - 4.5) < 1e-9
    miss = (np.linalg.norm(fired[top], axis=1) - ball_mm) * 1e3
    assert top.sum() > 2 * free.sum()
    assert np.abs(miss).max() < 4


def rod_shell(step, length=1.5):
    """A quarter of a shell on a rod along z, between two planes of symmetry across it."""
    radius = lambda p: np.hypot(p[:, 0], p[:, 1])  # noqa: E731
    fields = {
        "in": lambda p: radius(p) - 3.0,
        "out": lambda p: 4.5 - radius(p),
        "x": lambda p: p[:, 0],
        "y": lambda p: p[:, 1],
        "low": lambda p: p[:, 2],
        "high": lambda p: length - p[:, 2],
    }
    off = 0.37 * step
    points, tets, on = clipped((-off,) * 3, (4.6, 4.6, length + 0.1), step, fields)
    for name, target in (("in", 3.0), ("out", 4.5)):
        points[on[name], :2] *= (target / radius(points)[on[name]])[:, None]
    held = np.column_stack([on["x"], on["y"], on["low"] | on["high"]])
    return Body(points, tets, on["in"], held=held), on["out"]


def test_a_shell_on_a_rod_is_within_7_um():
    body, free = rod_shell(0.6)
    fired = fire(body, **END)
    exact = sure_radius(3.0, 4.5, green=0.6, end=0.98, turns=1)
    miss = (np.hypot(*fired.nodes_mm[free, :2].T) - exact) * 1e3
    assert np.abs(miss).max() < 7
    assert abs(miss.mean()) < 4
