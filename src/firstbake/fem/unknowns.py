"""Which unknown of the linear system belongs to which point and component."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import csr_array

from firstbake.fem.tetrahedra import Flags, Index
from firstbake.mesh import Floats


@dataclass(frozen=True, eq=False)
class Pairs:
    """Pairs of points that share a cell, and how the cells add up to them.

    ends   : (p, 2) points, the lower number first; the first n of them are the points with themselves
    first, second : (m,) corner (cell·k + place) of every cell's part in a pair, sorted by pair
    adder  : (p, m) adds the parts up
    """

    ends: Index
    first: Index
    second: Index
    adder: csr_array


@dataclass(frozen=True, eq=False)
class Unknowns:
    """The unknowns of a system whose matrix is symmetric and couples points of one cell only.

    The matrix is given as blocks (c, c, p): entry [i, j, q] couples component i of the first point of pair q
    with component j of the second.

    points_mm : (n, 3) where the points lie (used to order the elimination only)
    cells     : (e, k) points of each cell
    free      : (n, c) which components of each point are unknown; the others are 0
    negative  : (c,) components whose diagonal block is negative definite (pressures); the rest is positive
    """

    points_mm: Floats
    cells: Index
    free: Flags
    negative: Flags

    @cached_property
    def number(self) -> Index:
        """(n, c) number of each unknown, -1 where a component is held."""
        number = np.full(self.free.shape, -1, dtype=np.int64)
        number[self.free] = np.arange(self.free.sum())
        return number

    @property
    def count(self) -> int:
        """How many unknowns there are."""
        return int(self.free.sum())

    @cached_property
    def pairs(self) -> Pairs:
        """The pairs of points that share a cell."""
        count, width = len(self.free), self.cells.shape[1]
        i, j = np.triu_indices(width, 1)
        own = np.arange(self.cells.size)
        corner = np.arange(len(self.cells))[:, None] * width
        one, two = (corner + i).ravel(), (corner + j).ravel()
        points = self.cells.ravel()
        swapped = points[one] > points[two]
        first, second = np.where(swapped, two, one), np.where(swapped, one, two)
        keys, place = np.unique(points[first] * count + points[second], return_inverse=True)
        first, second = np.concatenate([own, first]), np.concatenate([own, second])
        place = np.concatenate([points, count + place])
        ends = np.vstack(
            [np.repeat(np.arange(count), 2).reshape(-1, 2), np.column_stack(divmod(keys, count))]
        )
        own = np.arange(len(place))
        sorted_by_pair = csr_array((np.ones(len(own)), (place, own)), shape=(len(ends), len(own)))
        order = sorted_by_pair.indices.astype(np.int64)
        adder = csr_array((np.ones(len(own)), own, sorted_by_pair.indptr), shape=(len(ends), len(own)))
        return Pairs(ends, first[order], second[order], adder)

    @cached_property
    def pattern(self) -> csr_array:
        """(n, n) which points share a cell."""
        one, two = self.pairs.ends.T
        rows, columns = np.concatenate([one, two]), np.concatenate([two, one])
        return csr_array((np.ones(len(rows)), (rows, columns)), shape=(len(self.free),) * 2)

    def summed(self, cells: Floats) -> Floats:
        """Blocks (c, c, p) from cell matrices (e, k·c, k·c)."""
        width, count = self.cells.shape[1], len(self.negative)
        by_corner = cells.reshape(-1, width, count, width, count).transpose(2, 4, 0, 1, 3)
        parts = self.pairs.first * width + self.pairs.second % width
        return np.stack(
            [
                np.stack([self.pairs.adder @ by_corner[i, j].ravel()[parts] for j in range(count)])
                for i in range(count)
            ]
        )

    @cached_property
    def entries(self) -> tuple[Index, Index, Index]:
        """(t,) places in the flat blocks, and the two unknowns coupled there; every coupling once."""
        count = len(self.negative)
        one, two = self.pairs.ends.T
        ends = [[self.number[side, k] for k in range(count)] for side in (one, two)]
        found: list[tuple[Index, Index, Index]] = []
        for i in range(count):
            for j in range(count):
                wanted = (ends[0][i] >= 0) & (ends[1][j] >= 0)
                if i < j:
                    wanted &= one != two
                rows = np.flatnonzero(wanted)
                found.append(((i * count + j) * len(one) + rows, ends[0][i][rows], ends[1][j][rows]))
        places, left, right = (np.concatenate(part) for part in zip(*found, strict=True))
        return places, left, right
