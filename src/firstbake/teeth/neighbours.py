"""Placing teeth beside and against each other with a wanted gap."""

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadSum
from firstbake.mesh import Surface, signed_distance

Floats = NDArray[np.float64]
_REACH_MM = 1.5
_TOLERANCE_MM = 1e-5
_STEPS = 60


def signed_gap_mm(one: Surface, other: Surface) -> float:
    """Least signed distance between two surfaces, each vertex to the other surface; < 0 overlap, mm."""
    return min(_least_mm(one, other), _least_mm(other, one))


def _least_mm(points_of: Surface, surface: Surface) -> float:
    """Least signed distance of the vertices of one surface to another, mm."""
    points = points_of.vertices_mm
    low, high = surface.bounds_mm
    near = ((points > low - _REACH_MM) & (points < high + _REACH_MM)).all(axis=1)
    return float(signed_distance(surface, points[near] if near.any() else points).distance_mm.min())


def slid_to(surface: Surface, fixed: Surface, *, toward: Floats, gap_mm: float) -> Surface:
    """The surface moved along a direction, from clear of the fixed one, until their signed gap is gap_mm.

    toward : (3,) direction of the movement, any length
    gap_mm : wanted least signed distance, mm; less than 0 for an overlap
    raises : BadSum when the surfaces pass each other without coming that near
    """
    way = np.asarray(toward, dtype=np.float64) / np.linalg.norm(toward)
    back = (surface.vertices_mm @ way).max() - (fixed.vertices_mm @ way).min() + abs(gap_mm) + 0.1
    at, slope = -float(back), 1.0
    here = _moved(surface, at * way)
    gap = signed_gap_mm(here, fixed)
    for _ in range(_STEPS):
        if abs(gap - gap_mm) < _TOLERANCE_MM:
            return here
        step = (gap - gap_mm) / slope
        here = _moved(surface, (at + step) * way)
        following = signed_gap_mm(here, fixed)
        if abs(step) < 0.2:
            slope = float(np.clip((gap - following) / step, 0.25, 1.0))
        at, gap = at + step, following
    raise BadSum("two teeth could not be set to the wanted gap; they do not face each other")


def _moved(surface: Surface, shift_mm: Floats) -> Surface:
    return surface.moved(surface.vertices_mm + shift_mm)


def turned_and_moved(surface: Surface, *, turn_deg: float, shift_mm: tuple[float, float, float]) -> Surface:
    """The surface turned about the z axis through the origin (anticlockwise from above), then moved, mm."""
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    return surface.moved(surface.vertices_mm @ turn.T + np.array(shift_mm))


def joined(surfaces: tuple[Surface, ...]) -> Surface:
    """Several surfaces as one, vertices and faces in the order given."""
    starts = np.cumsum([0] + [len(s.vertices_mm) for s in surfaces[:-1]])
    return Surface(
        np.concatenate([s.vertices_mm for s in surfaces]),
        np.concatenate([s.faces + start for s, start in zip(surfaces, starts.tolist(), strict=True)]),
    )
