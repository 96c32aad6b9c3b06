"""The door to linear solvers.

"fronts" (default) is our own (fronts.py); "superlu" is the sparse LU that every SciPy has. Both give the same
answer to rounding; a test holds them together. Another solver is added with a class that has the two
methods of
LinearSolver, given to NodeAveraged or Quadratic as `solver`.
"""

from collections.abc import Callable
from typing import Protocol

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import SuperLU, splu

from firstbake.errors import BadSum
from firstbake.fem.fronts import Fronts
from firstbake.fem.unknowns import Unknowns
from firstbake.mesh import Floats


class LinearSolver(Protocol):
    """What a solver must do: take the matrix as blocks (c, c, p) (see Unknowns), answer right sides (u,)."""

    def factor(self, blocks: Floats) -> None:
        """Factor the symmetric matrix of the blocks."""

    def solve(self, right: Floats) -> Floats:
        """Answer to one right side."""


SolverMaker = Callable[[Unknowns], LinearSolver]


class SparseLu:
    """SciPy's SuperLU behind the same door."""

    def __init__(self, unknowns: Unknowns) -> None:
        self._count = unknowns.count
        self._source, one, two = unknowns.entries
        self._twice = one != two
        self._rows = np.concatenate([one, two[self._twice]])
        self._columns = np.concatenate([two, one[self._twice]])
        self._factors: SuperLU | None = None

    def factor(self, blocks: Floats) -> None:
        """Assemble and factor. raises : BadSum when the matrix is singular."""
        values = blocks.reshape(-1)[self._source]
        values = np.concatenate([values, values[self._twice]])
        matrix = csc_array((values, (self._rows, self._columns)), shape=(self._count,) * 2)
        try:
            self._factors = splu(
                matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.01, options={"SymmetricMode": True}
            )
        except RuntimeError as broken:
            raise BadSum("the sintering sum broke down: the porcelain is not held anywhere") from broken

    def solve(self, right: Floats) -> Floats:
        """Answer (u,) to the right side (u,)."""
        if self._factors is None:
            raise BadSum("solve() was called before factor()")
        return np.asarray(self._factors.solve(right))


def solver_named(name: str) -> SolverMaker:
    """The solver of that name. raises : BadSum for a name that is not there."""
    known: dict[str, SolverMaker] = {"fronts": Fronts, "superlu": SparseLu}
    if name not in known:
        raise BadSum(f'there is no solver named "{name}"; there are {", ".join(known)}')
    return known[name]
