"""A direct solver of our own: dense fronts along a nested dissection.

The cell matrices are summed straight into dense fronts, so no sparse matrix is built. The matrix may be
positive
definite (velocities alone) or quasi-definite (velocities and pressures): in each front the positive unknowns
are eliminated first by Cholesky, then the negative ones by Cholesky of the negated block.

source : multifrontal method, Duff and Reid 1983, ACM Trans. Math. Softw. 9, 302-325; strong
    factorisability of
         quasi-definite matrices, Vanderbei 1995, SIAM J. Optim. 5, 100-113 (both from memory, unverified)
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg.blas import dsyrk, dtrsm
from scipy.linalg.lapack import dpotrf

from firstbake.errors import BadSum
from firstbake.fem.dissection import Front, dissect, neighbours
from firstbake.fem.tetrahedra import Index
from firstbake.fem.unknowns import Unknowns
from firstbake.mesh import Floats


@dataclass(frozen=True, eq=False)
class _Site:
    """One dense front.

    own    : unknowns eliminated here, in order, the positive ones first      plus : how many of them are
        positive
    rest   : unknowns that wait
    source : entries of the cell matrices, flat      target : where they go in the flat front (lower half)
    maps   : children with the places of their leftovers in this front
    """

    own: Index
    plus: int
    rest: Index
    source: Index
    target: Index
    maps: tuple[tuple[int, Index], ...]


@dataclass(frozen=True, eq=False)
class _Block:
    """Factor of one front: lower triangles and the rows below them."""

    plus: Floats
    below_plus: Floats
    minus: Floats
    below_minus: Floats


class Fronts:
    """Factors and solves systems of one fixed set of unknowns."""

    def __init__(self, unknowns: Unknowns) -> None:
        self._unknowns = unknowns
        self._sites = _sites(unknowns)
        self._blocks: list[_Block] = []

    def factor(self, cells: Floats) -> None:
        """Factor the sum of the cell matrices (e, k·c, k·c), symmetric.

        raises : BadSum when a front is not definite (a body that is not held, or a cell turned inside out)
        """
        flat = cells.reshape(-1)
        waiting: dict[int, Floats] = {}
        self._blocks = []
        for number, site in enumerate(self._sites):
            size = len(site.own) + len(site.rest)
            summed = np.bincount(site.target, weights=flat[site.source], minlength=size * size)
            front = summed.astype(np.float64, copy=False).reshape(
                size, size
            )  # upper half; its transpose is the lower
            for child, place in site.maps:
                front[place[:, None], place] += waiting.pop(child).T
            block, left = _eliminate(front.T, len(site.own), site.plus)
            self._blocks.append(block)
            if len(site.rest):
                waiting[number] = left

    def solve(self, right: Floats) -> Floats:
        """Answer (u,) to the right side (u,), with the last factors."""
        y = right.copy()
        for site, block in zip(self._sites, self._blocks, strict=True):
            one, two, rest = site.own[: site.plus], site.own[site.plus :], site.rest
            y[one] = _lower(block.plus, y[one])
            y[np.concatenate([two, rest])] -= block.below_plus @ y[one]
            y[two] = _lower(block.minus, y[two])
            y[rest] += block.below_minus @ y[two]
        for site, block in zip(self._sites[::-1], self._blocks[::-1], strict=True):
            one, two, rest = site.own[: site.plus], site.own[site.plus :], site.rest
            y[two] = -_lower(block.minus, y[two] - block.below_minus.T @ y[rest], turned=True)
            y[one] = _lower(
                block.plus, y[one] - block.below_plus.T @ y[np.concatenate([two, rest])], turned=True
            )
        return y


def _lower(triangle: Floats, right: Floats, *, turned: bool = False) -> Floats:
    if len(right) == 0:
        return right
    return np.asarray(dtrsm(1.0, triangle, right[:, None], lower=1, trans_a=int(turned))[:, 0])


def _eliminate(front: Floats, own: int, plus: int) -> tuple[_Block, Floats]:
    """Factor the first `own` unknowns of a front, of which `plus` are positive; the leftover of the
    others."""
    first, below, left = _step(front, plus, sign=1.0)
    second, beneath, left = _step(left, own - plus, sign=-1.0)
    return _Block(first, below, second, beneath), left


def _step(front: Floats, count: int, *, sign: float) -> tuple[Floats, Floats, Floats]:
    """Triangle, rows below it and the leftover (lower halves, F order) after `count` unknowns of one sign."""
    if count == 0:
        return np.zeros((0, 0)), np.zeros((len(front), 0)), front
    triangle, info = dpotrf(sign * front[:count, :count], lower=1, clean=0)
    if info:
        raise BadSum(
            "the sintering sum broke down: the mesh holds a badly shaped element or the porcelain is not "
            "held; "
            "mesh it again with another step"
        )
    if len(front) == count:
        return triangle, np.zeros((0, count), order="F"), np.zeros((0, 0))
    below = dtrsm(1.0, triangle, front[count:, :count], side=1, lower=1, trans_a=1)
    left = dsyrk(-sign, below, beta=1.0, c=front[count:, count:], lower=1)
    return triangle, below, left


def _sites(unknowns: Unknowns) -> list[_Site]:
    used = np.flatnonzero(unknowns.free.any(axis=1))
    short = np.full(len(unknowns.free), -1, dtype=np.int64)
    short[used] = np.arange(len(used))
    pattern = neighbours(unknowns.cells, len(unknowns.free))[used][:, used]
    order, fronts = dissect(unknowns.points_mm[used], pattern)
    place = np.full(len(unknowns.free), len(order), dtype=np.int64)
    place[used[order]] = np.arange(len(order))
    owner = np.repeat(np.arange(len(fronts)), [f.hi - f.lo for f in fronts])
    first = place[unknowns.cells].min(axis=1)
    home = np.where(first < len(order), np.append(owner, 0)[np.minimum(first, len(order))], -1)
    by_home = np.argsort(home, kind="stable")
    starts = np.searchsorted(home[by_home], np.arange(len(fronts) + 1))
    sites: list[_Site] = []
    look = np.full(unknowns.count + 1, -1, dtype=np.int64)
    turn = _turns(unknowns, used[order], owner)
    for k, front in enumerate(fronts):
        cells = by_home[starts[k] : starts[k + 1]]
        sites.append(_site(unknowns, front, used[order], cells=cells, look=look, turn=turn, before=sites))
    return sites


def _turns(unknowns: Unknowns, order: Index, owner: Index) -> Index:
    """(u,) when each unknown is eliminated: by front, the positive ones before the negative ones."""
    front = np.repeat(owner, len(unknowns.negative)).reshape(len(order), -1)
    number = unknowns.number[order]
    negative = np.broadcast_to(unknowns.negative, number.shape)
    there = number >= 0
    by_turn = number[there][np.lexsort((negative[there], front[there]))]
    turn = np.empty(unknowns.count, dtype=np.int64)
    turn[by_turn] = np.arange(unknowns.count)
    return turn


def _numbers(unknowns: Unknowns, points: Index, turn: Index) -> Index:
    """Unknowns of the points in the order of their elimination."""
    found = unknowns.number[points].ravel()
    found = found[found >= 0]
    return np.asarray(found[np.argsort(turn[found])])


def _site(
    unknowns: Unknowns,
    front: Front,
    order: Index,
    *,
    cells: Index,
    look: Index,
    turn: Index,
    before: list[_Site],
) -> _Site:
    mine = order[front.lo : front.hi]
    own, rest = _numbers(unknowns, mine, turn), _numbers(unknowns, order[front.rest], turn)
    plus = int(unknowns.free[mine][:, ~unknowns.negative].sum())
    both = np.concatenate([own, rest])
    look[both] = np.arange(len(both))
    maps = tuple((k, look[before[k].rest]) for k in front.children)
    local = look[unknowns.of_cells[cells]]  # -1 reads the last place, which stays -1
    width = local.shape[1]
    i, j = np.tril_indices(width)
    row, column = local[:, i], local[:, j]
    ok = (row >= 0) & (column >= 0)
    target = np.maximum(row, column) + np.minimum(row, column) * len(both)
    source = cells[:, None] * (width * width) + i * width + j
    look[both] = -1
    return _Site(own, plus, rest, source[ok], target[ok], maps)
