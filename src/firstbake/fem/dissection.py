"""Nested dissection: an order of elimination that keeps a direct solver's fill small."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from firstbake.fem.tetrahedra import Flags, Index
from firstbake.mesh import Floats

LEAF = 64  # points left undivided (chosen by timing)


@dataclass(frozen=True, eq=False)
class Front:
    """Points eliminated together, in places lo to hi of the order.

    rest     : places after hi that are coupled to them, ascending
    children : fronts whose leftovers are summed into this one
    """

    lo: int
    hi: int
    rest: Index
    children: tuple[int, ...]


def neighbours(cells: Index, points: int) -> csr_array:
    """(n, n) pattern of points that share a cell, from cells (e, k)."""
    count = cells.shape[1]
    of_cell = csr_array(
        (np.ones(cells.size), cells.ravel(), np.arange(len(cells) + 1) * count), shape=(len(cells), points)
    )
    return csr_array(of_cell.T @ of_cell)


def dissect(points_mm: Floats, pattern: csr_array, *, leaf: int = LEAF) -> tuple[Index, list[Front]]:
    """Order (n,) of the points and the fronts, children before parents.

    Each part is halved across its longest direction; the smaller of the two layers along the cut is the
    separator and is eliminated after both halves.
    source : George 1973, SIAM J. Numer. Anal. 10, 345-363 (from memory, unverified)
    """
    blocks: list[tuple[Index, list[int]]] = []
    side = np.zeros(len(points_mm), dtype=np.int8)

    def divide(part: Index) -> list[int]:
        if len(part) > leaf:
            one, two = _halves(points_mm, part)
            separator, one, two = _separated(pattern, side, one=one, two=two)
            if len(one) + len(two) > 0 and len(separator) < len(part):
                kids = [k for half in (one, two) if len(half) for k in divide(half)]
                if len(separator) == 0:
                    return kids
                blocks.append((separator, kids))
                return [len(blocks) - 1]
        blocks.append((part, []))
        return [len(blocks) - 1]

    if len(points_mm):
        divide(np.arange(len(points_mm)))
    order = np.concatenate([own for own, _ in blocks]) if blocks else np.zeros(0, dtype=np.int64)
    return order, _fronts(pattern, order, blocks)


def _halves(points_mm: Floats, part: Index) -> tuple[Index, Index]:
    centred = points_mm[part] - points_mm[part].mean(axis=0)
    along = centred @ np.linalg.eigh(centred.T @ centred)[1][:, -1]
    order = np.argsort(along, kind="stable")
    return np.sort(part[order[: len(part) // 2]]), np.sort(part[order[len(part) // 2 :]])


def _separated(pattern: csr_array, side: np.ndarray, *, one: Index, two: Index) -> tuple[Index, Index, Index]:
    """The thinner layer between two halves, and what is left of them."""
    side[one], side[two] = 1, 2
    near_two = _touching(pattern, side, one, 2)
    near_one = _touching(pattern, side, two, 1)
    side[one] = side[two] = 0
    if near_two.sum() <= near_one.sum():
        return one[near_two], one[~near_two], two
    return two[near_one], one, two[~near_one]


def _touching(pattern: csr_array, side: np.ndarray, part: Index, other: int) -> Flags:
    rows = pattern[part]
    hits = np.concatenate([[0], np.cumsum(side[rows.indices] == other)])
    return np.asarray(hits[rows.indptr[1:]] > hits[rows.indptr[:-1]])


def _fronts(pattern: csr_array, order: Index, blocks: list[tuple[Index, list[int]]]) -> list[Front]:
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    fronts: list[Front] = []
    lo = 0
    for own, kids in blocks:
        hi = lo + len(own)
        coupled = np.concatenate([place[pattern[own].indices], *(fronts[k].rest for k in kids)])
        rest = np.unique(coupled)
        fronts.append(Front(lo, hi, rest[rest >= hi], tuple(kids)))
        lo = hi
    return fronts
