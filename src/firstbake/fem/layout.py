"""Where everything of a factorisation lies: found once for each mesh."""

from dataclasses import dataclass

import numpy as np

from firstbake.fem.dissection import Front, dissect
from firstbake.fem.lanes import LANES, lanes_of
from firstbake.fem.tetrahedra import Flags, Index
from firstbake.fem.unknowns import Unknowns

Pieces = list[tuple[int, int, int]]
"""Unbroken pieces of a child's leftover: first row in it, first row in the parent, how many rows."""


@dataclass(frozen=True, eq=False)
class Site:
    """One dense front; unknowns are counted in the order of their elimination.

    lo, hi   : unknowns eliminated here, the positive ones first      plus : how many of them are positive
    rest     : unknowns that wait, ascending
    panel    : where its columns start
    leftover, stack : where its leftover starts, and in which stack
    lane     : fronts of lanes 0 to LANES - 1 may be worked on side by side, those of lane LANES come last
    children : fronts whose leftovers are summed into this one
    """

    lo: int
    hi: int
    plus: int
    rest: Index
    panel: int
    leftover: int
    stack: int
    lane: int
    children: "list[tuple[Site, Pieces]]"

    @property
    def size(self) -> int:
        """Rows of the front."""
        return self.hi - self.lo + len(self.rest)


@dataclass(frozen=True, eq=False)
class Layout:
    """The fronts of a system.

    order    : (u,) unknowns in the order of their elimination
    negative : (u,) which of those are negative
    panels, leftovers : numbers that all panels take, and each of the stacks
    source, target : entries of the blocks and where they go in the panels; those of columns of negative
               unknowns are negated
    """

    sites: list[Site]
    order: Index
    negative: Flags
    panels: int
    leftovers: list[int]
    source: Index
    target: Index
    source_negated: Index
    target_negated: Index


def laid_out(unknowns: Unknowns) -> Layout:
    """Dissect the mesh of the unknowns and lay the fronts out."""
    weights = unknowns.free.sum(axis=1)
    used = np.flatnonzero(weights)
    pattern = unknowns.pattern
    if len(used) < len(weights):
        pattern = pattern[used][:, used]
    order, fronts = dissect(unknowns.points_mm[used], pattern, weights=weights[used])
    order = used[order]
    owner = np.repeat(np.arange(len(fronts)), [f.hi - f.lo for f in fronts])
    turn, by_turn, negative = _turns(unknowns, order, owner)
    starts = np.searchsorted(owner[_points_of(unknowns, order, by_turn)], np.arange(len(fronts) + 1))
    sites, panels, leftovers = _sites(fronts, turn[order], starts, negative)
    source, left, right = unknowns.entries
    flat = turn.ravel()[np.flatnonzero(unknowns.free.ravel())]
    left, right = flat[left], flat[right]
    column, row = np.minimum(left, right), np.maximum(left, right)
    target = _targets(sites, starts, column, row)
    minus = negative[column]
    return Layout(
        sites,
        by_turn,
        negative,
        panels,
        leftovers,
        source[~minus],
        target[~minus],
        source[minus],
        target[minus],
    )


def _points_of(unknowns: Unknowns, order: Index, by_turn: Index) -> Index:
    """(u,) place in the order of the point that each unknown belongs to."""
    place = np.empty(len(unknowns.free), dtype=np.int64)
    place[order] = np.arange(len(order))
    return np.asarray(place[np.nonzero(unknowns.free)[0]][by_turn])


def _turns(unknowns: Unknowns, order: Index, owner: Index) -> tuple[Index, Index, Flags]:
    """(n, c) turn of each unknown, -1 where held; (u,) unknowns by turn; (u,) whether they are negative.

    By front, the positive ones before the negative ones.
    """
    number = unknowns.number[order]
    front = np.broadcast_to(owner[:, None], number.shape)
    negative = np.broadcast_to(unknowns.negative, number.shape)
    there = number >= 0
    sorting = np.lexsort((negative[there], front[there]))
    by_turn = number[there][sorting]
    flat = np.empty(unknowns.count, dtype=np.int64)
    flat[by_turn] = np.arange(unknowns.count)
    turn = np.full(unknowns.free.shape, -1, dtype=np.int64)
    turn[unknowns.free] = flat
    return turn, by_turn, negative[there][sorting]


def _sites(
    fronts: list[Front], turn: Index, starts: Index, negative: Flags
) -> tuple[list[Site], int, list[int]]:
    """The fronts laid out, numbers their panels take, and greatest heights of the stacks.

    Each lane has a stack for even and one for odd levels of the tree, so that a front finds the leftovers of
    its children on top of the one while its own goes on the other. What a lane leaves to the last lane is
    kept apart.
    """
    lane = lanes_of(fronts, (turn >= 0).sum(axis=1))
    level, kept = np.zeros(len(fronts), dtype=np.int64), np.zeros(len(fronts), dtype=bool)
    for k in range(len(fronts) - 1, -1, -1):
        kids = list(fronts[k].children)
        level[kids] = level[k] + 1
        kept[kids] = lane[kids] != lane[k]
    stack = np.where(kept, 2 * LANES + 2, 2 * lane + level % 2)
    positive = np.concatenate([[0], np.cumsum(~negative)])
    sites: list[Site] = []
    panels, top, most = 0, [0] * (2 * LANES + 3), [0] * (2 * LANES + 3)
    for k, front in enumerate(fronts):
        lo, hi, on = int(starts[k]), int(starts[k + 1]), int(stack[k])
        rest = turn[front.rest].ravel()
        rest = np.sort(rest[rest >= 0])
        plus = int(positive[hi] - positive[lo])
        parts = [(sites[c], _pieces(sites[c].rest, (lo, hi, plus), rest)) for c in front.children]
        sites.append(Site(lo, hi, plus, rest, panels, top[on], on, int(lane[k]), parts))
        panels += sites[-1].size * (hi - lo)
        top[on] += len(rest) ** 2
        most[on] = max(most[on], top[on])
        for child, _ in parts:
            top[child.stack] -= len(child.rest) ** 2 if child.stack < 2 * LANES + 2 else 0
    return sites, panels, most


def _pieces(waiting: Index, span: tuple[int, int, int], rest: Index) -> Pieces:
    """How the waiting unknowns of a child lie in its parent, cut where the parent's parts meet."""
    lo, hi, plus = span
    own = waiting < hi
    place = np.where(own, waiting - lo, hi - lo + np.searchsorted(rest, waiting))
    step = np.diff(place) != 1
    kind = (place >= plus).astype(np.int8) + ~own
    cuts = np.flatnonzero(step | (np.diff(kind) != 0)) + 1
    firsts = [0, *cuts.tolist()] if len(place) else []
    ends = [*cuts.tolist(), len(place)]
    return [(a, int(place[a]), b - a) for a, b in zip(firsts, ends, strict=False)]


def _targets(sites: list[Site], starts: Index, column: Index, row: Index) -> Index:
    """Where entries (row, column) go in the panels."""
    home = np.repeat(np.arange(len(sites)), np.diff(starts))[column]
    small = home.astype(np.uint16) if len(sites) < 2**16 else home  # sorted in one pass when small
    by_column = np.argsort(small, kind="stable")
    bounds = np.concatenate([[0], np.cumsum(np.bincount(home, minlength=len(sites)))])
    found = np.empty(len(column), dtype=np.int64)
    for site, a, b in zip(sites, bounds[:-1], bounds[1:], strict=True):
        mine = by_column[a:b]
        rows = row[mine]
        own = site.hi - site.lo
        place = np.where(rows < site.hi, rows - site.lo, own + np.searchsorted(site.rest, rows))
        found[mine] = site.panel + (column[mine] - site.lo) * site.size + place
    return found
