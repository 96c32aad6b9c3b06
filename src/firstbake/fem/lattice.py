"""A body-centred cubic lattice of tetrahedra over a box."""

from collections.abc import Callable

import numpy as np

from firstbake.fem.tetrahedra import Flags, Index, compacted, oriented
from firstbake.mesh import Floats


def lattice(
    low_mm: Floats, high_mm: Floats, *, step_mm: float, keep: Callable[[Floats], Flags]
) -> tuple[Floats, Index]:
    """Points (n, 3) mm and tetrahedra (e, 4) of the lattice over the box low_mm to high_mm.

    step_mm : edge of the cubes; every tetrahedron joins two neighbouring cube centres with an edge of the
              face between them
    keep    : answers (e,) for the middles (e, 3) mm of the tetrahedra which to keep
    source  : body-centred cubic lattice as in Labelle and Shewchuk 2007, ACM Trans. Graph. 26(3)
    """
    counts = np.ceil((high_mm - low_mm) / step_mm).astype(np.int64) + 1
    corners = np.prod(counts + 1)
    points = np.vstack([_grid(counts + 1), _grid(counts) + 0.5]) * step_mm + low_mm
    tets = np.vstack([_across(axis, counts, int(corners)) for axis in range(3)])
    tets = tets[keep(points[tets].mean(axis=1))]
    points, tets, _ = compacted(points, tets)
    return points, oriented(points, tets)


def _grid(counts: Index) -> Floats:
    """(n, 3) whole-number places of a grid, last axis fastest."""
    axes = np.meshgrid(*(np.arange(c, dtype=np.float64) for c in counts), indexing="ij")
    return np.column_stack([a.ravel() for a in axes])


def _across(axis: int, counts: Index, corners: int) -> Index:
    """The four tetrahedra round each cube face between two neighbours along one axis."""

    def corner(place: Index) -> Index:
        return np.asarray(np.ravel_multi_index(tuple(place.T), tuple(counts + 1)), dtype=np.int64)

    def centre(place: Index) -> Index:
        return np.asarray(corners + np.ravel_multi_index(tuple(place.T), tuple(counts)), dtype=np.int64)

    fewer = counts.copy()
    fewer[axis] -= 1
    cube = _grid(fewer).astype(np.int64)
    ahead = np.zeros(3, dtype=np.int64)
    ahead[axis] = 1
    one, two = (np.eye(3, dtype=np.int64)[k] for k in range(3) if k != axis)
    ring = [corner(cube + ahead + s * one + t * two) for s, t in ((0, 0), (1, 0), (1, 1), (0, 1))]
    ends = centre(cube), centre(cube + ahead)
    return np.vstack([np.column_stack([*ends, ring[k], ring[(k + 1) % 4]]) for k in range(4)])
