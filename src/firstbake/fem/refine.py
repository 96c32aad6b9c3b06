"""Local refinement: bisection of the longest edges, without hanging nodes."""

from collections.abc import Callable

import numpy as np

from firstbake.errors import BadSum
from firstbake.fem.tetrahedra import Flags, Index, edge_table, oriented
from firstbake.mesh import Floats

_PASSES = 80


def refine(points_mm: Floats, tets: Index, *, size_mm_of: Callable[[Floats], Floats]) -> tuple[Floats, Index]:
    """Bisect until the longest edge of every tetrahedron is at most the wanted size at its middle.

    size_mm_of : answers (e,) wanted sizes, mm, for middles (e, 3) mm
    source     : longest-edge propagation, Rivara 1984, Int. J. Numer. Meth. Eng. 20 (from memory,
        unverified).
                 An edge is cut only when it is the longest of all tetrahedra round it, so the mesh stays
                 whole.
    raises     : BadSum when the sizes asked for need more than 80 passes
    """
    for _ in range(_PASSES):
        edges, sides = edge_table(tets)
        length = np.linalg.norm(points_mm[edges[:, 0]] - points_mm[edges[:, 1]], axis=1)
        longest = _longest(edges, sides, length)
        marked = length[longest] > size_mm_of(points_mm[tets].mean(axis=1)) * 1.0001
        if not marked.any():
            return points_mm, oriented(points_mm, tets)
        marked = _spread(marked, longest, sides, len(edges))
        points_mm, tets = _bisect(points_mm, tets, edges, sides=sides, longest=longest, marked=marked)
    raise BadSum(
        "the mesh could not be refined to the sizes asked for; ask for sizes that change less abruptly"
    )


def _longest(edges: Index, sides: Index, length: Floats) -> Index:
    """(e,) longest edge of each tetrahedron; ties are broken by number, the same for all neighbours."""
    order = np.lexsort((edges[:, 1], edges[:, 0], np.round(length, 9)))
    rank = np.empty(len(edges), dtype=np.int64)
    rank[order] = np.arange(len(edges))
    return np.asarray(sides[np.arange(len(sides)), rank[sides].argmax(axis=1)])


def _spread(marked: Flags, longest: Index, sides: Index, edges: int) -> Flags:
    """Marks every tetrahedron round a longest edge that is to be cut, until no more come."""
    while True:
        cut = np.zeros(edges, dtype=bool)
        cut[longest[marked]] = True
        more = cut[sides].any(axis=1)
        if (more == marked).all():
            return np.asarray(marked)
        marked = marked | more


def _bisect(
    points_mm: Floats, tets: Index, edges: Index, *, sides: Index, longest: Index, marked: Flags
) -> tuple[Floats, Index]:
    """Cuts the marked tetrahedra at those edges that are the longest all round."""
    round_it = np.bincount(sides.ravel(), minlength=len(edges))
    agreed = np.bincount(longest[marked], minlength=len(edges))
    cut = np.flatnonzero((agreed == round_it) & (agreed > 0))
    middle = np.full(len(edges), -1, dtype=np.int64)
    middle[cut] = len(points_mm) + np.arange(len(cut))
    points = np.vstack([points_mm, points_mm[edges[cut]].mean(axis=1)])
    split = marked & (middle[longest] >= 0)
    old, new, ends = tets[split], middle[longest[split]][:, None], edges[longest[split]]
    one = np.where(old == ends[:, 1:], new, old)
    two = np.where(old == ends[:, :1], new, old)
    return points, np.vstack([tets[~split], one, two])
