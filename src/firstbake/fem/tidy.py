"""Tidying a clipped mesh: onto the true surfaces, slivers off, inner nodes evened out."""

from collections.abc import Sequence

import numpy as np

from firstbake.fem.tetrahedra import EDGES, Flags, Index, outer_faces, quality, volumes_mm3
from firstbake.mesh import Floats

SLIVER = 0.06  # quality below which an outer tetrahedron is taken off (chosen by trial)


def moved_where_sound(
    points_mm: Floats,
    tets: Index,
    wanted_mm: Floats,
    *,
    floor: float,
    shares: Sequence[float] = (1.0, 0.5, 0.25),
) -> Floats:
    """(n, 3) nodes at their wanted places, but left where a move would spoil a tetrahedron.

    shares : parts of the way that are tried one after another
    floor : a tetrahedron may not fall under this quality, unless it was under it and gets no worse
    """
    before = quality(points_mm, tets)
    allowed = np.minimum(floor, before)
    going = np.any(wanted_mm != points_mm, axis=1)
    for share in shares:
        for _ in range(12):
            trial = np.where(going[:, None], points_mm + share * (wanted_mm - points_mm), points_mm)
            spoilt = quality(trial, tets) < allowed - 1e-12
            stuck = np.zeros(len(points_mm), dtype=bool)
            stuck[tets[spoilt]] = True
            if not (stuck & going).any():
                break
            going &= ~stuck
        else:
            going[:] = False
        points_mm = np.where(going[:, None], points_mm + share * (wanted_mm - points_mm), points_mm)
        before = quality(points_mm, tets)
        allowed = np.minimum(floor, before)
        going = ~going & np.any(np.abs(wanted_mm - points_mm) > 1e-9, axis=1)
    return points_mm


def evened(points_mm: Floats, tets: Index, fixed: Flags, *, sweeps: int = 2) -> Floats:
    """Inner nodes moved toward the middle of their neighbours; no tetrahedron near them gets worse than 0.3
    or than it was."""
    edges = np.sort(tets[:, EDGES].reshape(-1, 2), axis=1)
    edges = np.unique(edges, axis=0)
    count = np.bincount(edges.ravel(), minlength=len(points_mm))[:, None]
    for _ in range(sweeps):
        total = np.zeros_like(points_mm)
        for axis in range(3):
            for one, two in ((0, 1), (1, 0)):
                total[:, axis] += np.bincount(
                    edges[:, one], points_mm[edges[:, two], axis], minlength=len(points_mm)
                )
        middle = np.where(fixed[:, None] | (count == 0), points_mm, total / np.maximum(count, 1))
        points_mm = moved_where_sound(points_mm, tets, middle, floor=0.3, shares=(1.0,))
    return points_mm


def without_slivers(points_mm: Floats, tets: Index, *, sweeps: int = 4) -> Index:
    """Tetrahedra without the flat ones that have two or more outer faces."""
    for _ in range(sweeps):
        _, owner = outer_faces(tets)
        outer = np.bincount(owner, minlength=len(tets))
        bad = (quality(points_mm, tets) < SLIVER) & (outer >= 2)
        if not bad.any():
            break
        tets = tets[~bad]
    return tets[volumes_mm3(points_mm, tets) > 0]
