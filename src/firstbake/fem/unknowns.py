"""Which unknown of the linear system belongs to which point and component."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from firstbake.fem.tetrahedra import Flags, Index
from firstbake.mesh import Floats


@dataclass(frozen=True, eq=False)
class Unknowns:
    """The unknowns of a system whose matrix is a sum of small symmetric cell matrices.

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
    def of_cells(self) -> Index:
        """(e, k·c) unknowns of each cell, -1 where held."""
        return np.asarray(self.number[self.cells].reshape(len(self.cells), -1))
