"""A direct solver of our own: dense fronts along a nested dissection.

The matrix may be positive definite (velocities alone) or quasi-definite (velocities and pressures): in
each front the positive unknowns are eliminated first by Cholesky, then the negative ones by Cholesky of the
negated block. All arrays are laid out once for each mesh (layout.py), so that a factorisation is a fixed list
of dense operations in place.

source : multifrontal method, Duff and Reid 1983, ACM Trans. Math. Softw. 9, 302-325; strong factorisability
         of quasi-definite matrices, Vanderbei 1995, SIAM J. Optim. 5, 100-113 (both from memory, unverified)
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from threadpoolctl import ThreadpoolController

from firstbake.fem.dense import Bench, Call
from firstbake.fem.lanes import LANES
from firstbake.fem.layout import Site, laid_out
from firstbake.fem.unknowns import Unknowns
from firstbake.mesh import Floats

_BYTES = 8


@dataclass(frozen=True, eq=False)
class _Work:
    """What is done for one front, on fixed arrays.

    clear      : the leftover, cleared first; also above its diagonal, where sums would grow without bound
    adds, takes : parts of this front and of a child's leftover that is added to it, or taken from it
    factor     : then these, in order
    down, up   : in solving, between fetching and putting back the front's unknowns
    """

    site: Site
    clear: Floats
    adds: list[tuple[Floats, Floats]]
    takes: list[tuple[Floats, Floats]]
    factor: list[Call]
    down: list[Call]
    up: list[Call]


def _carried_out(lane: list[_Work]) -> None:
    for work in lane:
        work.clear.fill(0.0)
        for to, part in work.adds:
            to += part
        for to, part in work.takes:
            to -= part
        for call in work.factor:
            call()


class Fronts:
    """Factors and solves systems of one fixed set of unknowns."""

    def __init__(self, unknowns: Unknowns) -> None:
        self._layout = laid_out(unknowns)
        sites = self._layout.sites
        self._panels = np.zeros(self._layout.panels)
        self._leftovers = [np.zeros(size) for size in self._layout.leftovers]
        widest = max((site.size for site in sites), default=0)
        self._vector = np.zeros(widest + 1)
        self._bench = Bench(widest + 1, 2 * len(sites))
        self._work: list[_Work] = [self._prepared(site) for site in sites]
        self._blas = ThreadpoolController()  # BLAS threads beside our own cost many times what they gain
        self._lanes = [[w for w in self._work if w.site.lane == lane] for lane in range(LANES + 1)]

    def factor(self, blocks: Floats) -> None:
        """Factor the symmetric matrix of the blocks (c, c, p) over the pairs of the unknowns.

        raises : BadSum when a front is not definite (a body that is not held, or a cell turned inside out)
        """
        layout, flat = self._layout, blocks.reshape(-1)
        self._panels.fill(0.0)
        self._panels[layout.target] = flat[layout.source]
        self._panels[layout.target_negated] = -flat[layout.source_negated]
        with self._blas.limit(limits=1, user_api="blas"), ThreadPoolExecutor(LANES) as threads:
            list(threads.map(_carried_out, self._lanes[:LANES]))
            _carried_out(self._lanes[LANES])
        self._bench.check()

    def solve(self, right: Floats) -> Floats:
        """Answer (u,) to the right side (u,), with the last factors."""
        y = right[self._layout.order]
        with self._blas.limit(limits=1, user_api="blas"):
            self._swept(y)
        answer = np.empty_like(y)
        answer[self._layout.order] = y
        return answer

    def _swept(self, y: Floats) -> None:
        """Solve in place, unknowns in the order of their elimination."""
        vector = self._vector
        for work in self._work:
            lo, hi, rest, size = work.site.lo, work.site.hi, work.site.rest, work.site.size
            own = hi - lo
            vector[:own] = y[lo:hi]
            vector[own:size] = y[rest]
            for call in work.down:
                call()
            y[lo:hi] = vector[:own]
            y[rest] = vector[own:size]
        y[self._layout.negative] *= -1
        for work in reversed(self._work):
            lo, hi, rest, size = work.site.lo, work.site.hi, work.site.rest, work.site.size
            own = hi - lo
            vector[:own] = y[lo:hi]
            vector[own:size] = y[rest]
            for call in work.up:
                call()
            y[lo:hi] = vector[:own]

    def _prepared(self, site: Site) -> _Work:
        adds: list[tuple[Floats, Floats]] = []
        takes: list[tuple[Floats, Floats]] = []
        panel, leftover = self._panel(site), self._leftover(site)
        own = site.hi - site.lo
        for child, pieces in site.children:
            given = self._leftover(child)
            for k, (there, here, long) in enumerate(pieces):
                for below, row, high in pieces[k:]:
                    part = given[below : below + high, there : there + long]
                    rows, columns = slice(row, row + high), slice(here, here + long)
                    if here >= own:
                        to = leftover[row - own : row - own + high, here - own : here - own + long]
                        adds.append((to, part))
                    elif here >= site.plus:
                        takes.append((panel[rows, columns], part))
                    else:
                        adds.append((panel[rows, columns], part))
        return _Work(site, leftover, adds, takes, self._factoring(site), *self._solving(site))

    def _panel(self, site: Site) -> Floats:
        """(size, own) columns of the unknowns eliminated here; those of the negative ones are negated."""
        flat = self._panels[site.panel : site.panel + site.size * (site.hi - site.lo)]
        return flat.reshape(site.hi - site.lo, site.size).T

    def _leftover(self, site: Site) -> Floats:
        """(rest, rest) lower half of what the front leaves to its parent."""
        rest = len(site.rest)
        flat = self._leftovers[site.stack][site.leftover : site.leftover + rest * rest]
        return flat.reshape(rest, rest).T

    def _factoring(self, site: Site) -> list[Call]:
        bench, size, plus = self._bench, site.size, site.plus
        own, rest = site.hi - site.lo, len(site.rest)
        minus = own - plus
        at = self._panels.ctypes.data + site.panel * _BYTES
        low, end = at + plus * _BYTES, at + own * _BYTES  # rows below the positive ones, below all own ones
        second = at + (plus * size + plus) * _BYTES
        third = second + minus * _BYTES
        left = (self._leftovers[site.stack].ctypes.data + site.leftover * _BYTES, rest)
        calls: list[Call] = []
        if plus:
            calls.append(bench.cholesky(plus, at, size))
            if size > plus:
                calls.append(bench.rows_over(at, size - plus, size=plus, where=low, stride=size))
            if minus:
                shape = (size - plus, minus, plus)
                calls.append(bench.add_product(shape, low, low, where=second, stride=size))
            if rest:
                calls.append(bench.add_square(rest, plus, left=end, stride=size, to=left, take=True))
        if minus:
            calls.append(bench.cholesky(minus, second, size))
            if rest:
                calls.append(bench.rows_over(second, rest, size=minus, where=third, stride=size))
                calls.append(bench.add_square(rest, minus, left=third, stride=size, to=left, take=False))
        return calls

    def _solving(self, site: Site) -> tuple[list[Call], list[Call]]:
        bench, size, plus = self._bench, site.size, site.plus
        own, rest = site.hi - site.lo, len(site.rest)
        minus = own - plus
        at = self._panels.ctypes.data + site.panel * _BYTES
        low, second = at + plus * _BYTES, at + (plus * size + plus) * _BYTES
        third = second + minus * _BYTES
        one = self._vector.ctypes.data
        two, three = one + plus * _BYTES, one + own * _BYTES
        down: list[Call] = []
        up: list[Call] = []
        if plus:
            shape = (size - plus, plus, size)
            down.append(bench.divide(at, plus, size, vector=one, turned=False))
            down.append(bench.add_times(low, shape, vectors=(one, two), turned=False, take=True))
        if minus:
            shape = (rest, minus, size)
            down.append(bench.divide(second, minus, size, vector=two, turned=False))
            down.append(bench.add_times(third, shape, vectors=(two, three), turned=False, take=True))
            up.append(bench.add_times(third, shape, vectors=(three, two), turned=True, take=True))
            up.append(bench.divide(second, minus, size, vector=two, turned=True))
        if plus:
            up.append(
                bench.add_times(low, (size - plus, plus, size), vectors=(two, one), turned=True, take=True)
            )
            up.append(bench.divide(at, plus, size, vector=one, turned=True))
        return down, up
