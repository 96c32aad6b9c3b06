"""Motions of a mesh kept from turning its elements over."""

import numpy as np

from firstbake.fem.tetrahedra import Flags, Index, volumes_mm3
from firstbake.mesh import Floats

_ROUNDS = 60


def unfolded(points_mm: Floats, moved_mm: Floats, tets: Index, held: Flags, *, least: float) -> Floats:
    """(n, 3) moved nodes, with the motion evened out round tetrahedra that it has (almost) turned over.

    points_mm, moved_mm : (n, 3) before and after, mm      held : (n,) nodes that keep their motion
    least : share of its volume below which an element counts as turned
    """
    floor = least * volumes_mm3(points_mm, tets)
    motion = moved_mm - points_mm
    bad = volumes_mm3(moved_mm, tets) < floor
    chosen = np.zeros(len(points_mm), dtype=bool)
    for _ in range(_ROUNDS):
        if not bad.any():
            break
        chosen[:] = False
        chosen[tets[bad]] = True
        chosen &= ~held
        rows = np.flatnonzero(chosen[tets].any(axis=1))
        motion = _evened(motion, tets[rows], chosen)
        bad[rows] = volumes_mm3(points_mm + motion, tets[rows]) < floor[rows]
    return np.asarray(points_mm + motion)


def _evened(motion: Floats, cells: Index, chosen: Flags) -> Floats:
    """(n, 3) motion, that of the chosen nodes half way to the mean of the cells round them."""
    corners, count = cells.ravel(), len(motion)
    shares = 4.0 * np.bincount(corners, minlength=count)[chosen]
    found = motion.copy()
    for axis in range(3):
        sums = np.repeat(motion[cells, axis].sum(axis=1), 4)
        total = np.bincount(corners, sums, minlength=count)[chosen]
        found[chosen, axis] = 0.5 * motion[chosen, axis] + 0.5 * total / shares
    return found
