"""Which fronts of a factorisation may be worked on at the same time."""

import numpy as np

from firstbake.fem.dissection import Front
from firstbake.fem.tetrahedra import Index
from firstbake.mesh import Floats

LANES = 2  # threads; more gain little, since the last fronts wait for all others
_SPLIT = 0.15  # of the whole work: subtrees that weigh more are split further (chosen here)


def lanes_of(fronts: list[Front], counts: Index) -> Index:
    """(f,) lane of each front: 0 to LANES - 1 side by side, LANES after all of them.

    counts : (n,) unknowns of each point in the order of their elimination
    Whole subtrees go to a lane, the heaviest first to the lane with the least work.
    """
    work = _work_of(fronts, counts)
    below = work.copy()  # of each whole subtree
    for k, front in enumerate(fronts):
        below[k] += below[list(front.children)].sum()
    children = {kid for front in fronts for kid in front.children}
    open_ones = [k for k in range(len(fronts)) if k not in children]
    whole = sum(below[k] for k in open_ones)
    lane, subtrees = np.full(len(fronts), LANES, dtype=np.int64), []
    while open_ones:
        k = open_ones.pop()
        if below[k] > _SPLIT * whole and fronts[k].children:
            open_ones.extend(fronts[k].children)
        else:
            subtrees.append(k)
    loads = np.zeros(LANES)
    for k in sorted(subtrees, key=lambda k: -below[k]):
        lane[k] = int(loads.argmin())
        loads[lane[k]] += below[k]
    for k in range(len(fronts) - 1, -1, -1):
        if lane[k] < LANES:
            lane[list(fronts[k].children)] = lane[k]
    return lane


def _work_of(fronts: list[Front], counts: Index) -> Floats:
    """(f,) multiplications of each front."""
    ends = np.concatenate([[0], np.cumsum(counts)])
    own = np.array([ends[f.hi] - ends[f.lo] for f in fronts], dtype=np.float64)
    rest = np.array([counts[f.rest].sum() for f in fronts], dtype=np.float64)
    return np.asarray(own**3 / 3 + own**2 * rest + own * rest**2)
