"""Thickness: the shortest distance from contour to core, and the distance along the normal."""

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.mesh import Surface, cast_rays
from firstbake.room.sides import approach

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_STEP_BACK_MM = 0.01
"""Rays begin this far outside the contour, so that they also meet a core that touches it."""
_JITTER = 1e-4
_TRIES = 3


def thickness_at(case: Case, points_mm: Floats) -> Floats:
    """(p,) shortest distance from each of the (p, 3) points to the core, mm, exact; less than 0 inside it."""
    return approach(case.core.surface, points_mm).distance_mm


def along_normals(contour: Surface, core: Surface, *, inside: Flags) -> Floats:
    """(n,) distance from each contour vertex to the core along the inward normal, mm.

    inside : (n,) True where the vertex lies inside the core; there the way is outward and less than 0
    A ray that slips between two triangles (it misses, or meets the core from behind) is tried again with
    a tilt of 1e-4; NaN where it truly misses.
    """
    way = np.where(inside, 1.0, -1.0)[:, None] * contour.vertex_normals
    found = np.full(len(way), np.nan)
    waiting = np.flatnonzero(np.linalg.norm(way, axis=1) > 0.5)
    for attempt in range(_TRIES):
        if len(waiting) == 0:
            break
        direction = way[waiting] + _tilt(way[waiting], attempt)
        direction /= np.linalg.norm(direction, axis=1, keepdims=True)
        origin = contour.vertices_mm[waiting] - _STEP_BACK_MM * direction
        distance, face = cast_rays(core, origin, direction)
        leaving = np.einsum("ij,ij->i", core.face_normals[face], direction) > 0
        good = (face >= 0) & (leaving == inside[waiting])
        found[waiting[good]] = distance[good] - _STEP_BACK_MM
        waiting = waiting[~good]
    return np.where(inside, -found, found)


def _tilt(direction: Floats, attempt: int) -> Floats:
    """(p, 3) small sideways step, another one for each attempt; none for the first."""
    least = np.eye(3)[np.argmin(np.abs(direction), axis=1)]
    sideways = np.cross(direction, least)
    if attempt == 2:
        sideways = np.cross(direction, sideways)
    return np.asarray(_JITTER * min(attempt, 1) * sideways)
