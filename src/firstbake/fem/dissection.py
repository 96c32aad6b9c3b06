"""Nested dissection: an order of elimination that keeps a direct solver's fill small."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, maximum_flow

from firstbake.fem.tetrahedra import Index
from firstbake.mesh import Floats

LEAF = 96  # points left undivided (chosen by timing)
_CUT_BY_FLOW = 128  # parts of fewer points are cut by the simpler rule (chosen by timing)
_BAND = 0.2  # share of a part on each side of its middle in which the cut is sought (chosen by timing)
_UNCUT = 10**6


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


def dissect(
    points_mm: Floats, pattern: csr_array, *, weights: Index, leaf: int = LEAF
) -> tuple[Index, list[Front]]:
    """Order (n,) of the points and the fronts, children before parents.

    pattern : (n, n) which points are coupled      weights : (n,) unknowns of each point
    Each part is cut across its longest direction by the lightest set of points that separates its ends; that
    set is eliminated after both halves.
    source : George 1973, SIAM J. Numer. Anal. 10, 345-363 (from memory, unverified)
    """
    cutter = _Cutter(points_mm, pattern, weights)
    blocks: list[tuple[Index, list[int]]] = []

    def divide(part: Index) -> list[int]:
        if len(part) > leaf:
            separator, one, two = cutter.cut(part)
            if len(one) + len(two) > 0 and len(separator) < len(part):
                kids = [k for half in (one, two) if len(half) for k in divide(half)]
                if len(separator) == 0:
                    return kids
                blocks.append((_round(points_mm, separator), kids))
                return [len(blocks) - 1]
        blocks.append((_round(points_mm, part), []))
        return [len(blocks) - 1]

    if len(points_mm):
        divide(np.arange(len(points_mm)))
    order = np.concatenate([own for own, _ in blocks]) if blocks else np.zeros(0, dtype=np.int64)
    return order, _fronts(pattern, order, blocks)


def _round(points_mm: Floats, part: Index) -> Index:
    """The points in the order of their angle about the part's thinnest direction.

    Neighbours in a ring then follow each other, so that a child's leftovers go to few unbroken pieces.
    """
    centred = points_mm[part] - points_mm[part].mean(axis=0)
    axes = np.linalg.eigh(centred.T @ centred)[1]
    return part[np.argsort(np.arctan2(centred @ axes[:, 1], centred @ axes[:, 2]), kind="stable")]


class _Cutter:
    """Cuts parts of one set of points."""

    def __init__(self, points_mm: Floats, pattern: csr_array, weights: Index) -> None:
        self._points_mm, self._pattern, self._weights = points_mm, pattern, weights
        self._rank = np.full(len(points_mm), -1, dtype=np.int64)

    def cut(self, part: Index) -> tuple[Index, Index, Index]:
        """Separator and the two sides of a part."""
        centred = self._points_mm[part] - self._points_mm[part].mean(axis=0)
        along = centred @ np.linalg.eigh(centred.T @ centred)[1][:, -1]
        part = part[np.argsort(along, kind="stable")]
        self._rank[part] = np.arange(len(part))
        found = self._by_flow(part) if len(part) >= _CUT_BY_FLOW else self._by_layer(part)
        self._rank[part] = -1
        return found

    def _links(self, part: Index) -> tuple[Index, Index]:
        """Coupled ranks (l,), (l,) within a part."""
        starts, ends = self._pattern.indptr[part], self._pattern.indptr[part + 1]
        counts = (ends - starts).astype(np.int64)
        places = np.repeat(starts - np.concatenate([[0], np.cumsum(counts)[:-1]]), counts)
        there = self._rank[self._pattern.indices[places + np.arange(len(places))]]
        here = np.repeat(np.arange(len(part)), counts)
        return here[there >= 0], there[there >= 0]

    def _by_layer(self, part: Index) -> tuple[Index, Index, Index]:
        """The thinner layer between the halves."""
        half = len(part) // 2
        here, there = self._links(part)
        across = (here < half) & (there >= half)
        near = np.zeros(len(part), dtype=bool)
        near[here[across]] = near[there[across]] = True
        lower = np.arange(len(part)) < half
        lightest = min((lower, ~lower), key=lambda side: int(self._weights[part[near & side]].sum()))
        cut = near & lightest
        return part[cut], part[lower & ~cut], part[~lower & ~cut]

    def _by_flow(self, part: Index) -> tuple[Index, Index, Index]:
        """The lightest separator within a band about the middle, as the cut of a greatest flow.

        Each point of the band is a pipe as wide as its weight. source : Ford and Fulkerson 1956, Canad. J.
        Math. 8, 399-404 (from memory, unverified)
        """
        low, high = (int(len(part) * (0.5 + side * _BAND)) for side in (-1, 1))
        here, there = self._links(part)
        if ((here < low) & (there >= high)).any():
            return self._by_layer(part)
        band = high - low
        inside = (here >= low) & (here < high)
        inner = inside & (there >= low) & (there < high)
        first = np.unique(here[inside & (there < low)]) - low
        last = np.unique(here[inside & (there >= high)]) - low
        rows = [3 + 2 * (here[inner] - low), np.zeros_like(first), 3 + 2 * last, 2 + 2 * np.arange(band)]
        columns = [2 + 2 * (there[inner] - low), 2 + 2 * first, np.ones_like(last), 3 + 2 * np.arange(band)]
        widths = np.full(sum(len(r) for r in rows), _UNCUT, dtype=np.int32)
        widths[-band:] = self._weights[part[low:high]]
        pipes = csr_array(
            (widths, (np.concatenate(rows), np.concatenate(columns))), shape=(2 * band + 2,) * 2
        )
        left = csr_array(pipes - maximum_flow(pipes, 0, 1).flow)
        left.eliminate_zeros()
        reached = np.zeros(2 * band + 2, dtype=bool)
        reached[breadth_first_order(left, 0, return_predecessors=False)] = True
        cut, below = np.zeros(len(part), dtype=bool), np.arange(len(part)) < low
        cut[low:high] = reached[2::2] & ~reached[3::2]
        below[low:high] = reached[3::2]
        return part[cut], part[below], part[~below & ~cut]


def _fronts(pattern: csr_array, order: Index, blocks: list[tuple[Index, list[int]]]) -> list[Front]:
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    neighbours = place[pattern.indices]
    starts = pattern.indptr
    fronts: list[Front] = []
    lo = 0
    for own, kids in blocks:
        hi = lo + len(own)
        coupled = [neighbours[starts[k] : starts[k + 1]] for k in own.tolist()]
        rest = np.unique(np.concatenate([*coupled, *(fronts[k].rest for k in kids)]))
        fronts.append(Front(lo, hi, rest[rest >= hi], tuple(kids)))
        lo = hi
    return fronts
