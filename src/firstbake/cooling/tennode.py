"""Elastic equilibrium on ten-node tetrahedra: the final stress, exact for strains that vary evenly.

Solved by conjugate gradients with two levels: on the fine one each node is relaxed with its own 3 x 3 block,
the coarse one is the same body of four-node tetrahedra, solved directly.

source : p-version multigrid as a preconditioner, e.g. Ronquist and Patera 1987, J. Sci. Comput. 2, 389-406
         (from memory, unverified)
"""

import numpy as np
from scipy.sparse import bsr_array, csr_array

from firstbake.cooling.linear import LinearBody
from firstbake.errors import BadSum
from firstbake.fem import Index, curved
from firstbake.mesh import Floats

_CORNERS = np.array([[1.0, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])
_EDGES = ((0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3))
_TIMES = 400


def _slopes(places: Floats) -> Floats:
    """(g, 10, 4) slopes of the ten shape functions along the barycentric weights at places (g, 4)."""
    found = np.zeros((len(places), 10, 4))
    for k in range(4):
        found[:, k, k] = 4 * places[:, k] - 1
    for row, (i, j) in enumerate(_EDGES):
        found[:, 4 + row, i], found[:, 4 + row, j] = 4 * places[:, j], 4 * places[:, i]
    return found


_A, _B = (5 - np.sqrt(5)) / 20, (5 + 3 * np.sqrt(5)) / 20
_GAUSS = np.where(np.eye(4) > 0, _B, _A)  # exact to degree 2, each place a quarter
_AT_GAUSS, _AT_CORNERS = _slopes(_GAUSS), _slopes(_CORNERS)
_MEAN = _AT_GAUSS.mean(axis=0)
_ONE, _TWO = np.triu_indices(10)
_PRODUCT = np.einsum("gak,gbl->abkl", _AT_GAUSS, _AT_GAUSS)[_ONE, _TWO].reshape(len(_ONE), 16) / 4


class TenNode:
    """A free body of straight ten-node tetrahedra over linear ones.

    points_mm : (n, 3) corners      tets : (e, 4)      shear_MPa, bulk_MPa : (e,) moduli
    coarse    : the linear body of the same tetrahedra, factored for the same moduli, where there is one
    """

    def __init__(
        self,
        points_mm: Floats,
        tets: Index,
        *,
        shear_MPa: Floats,
        bulk_MPa: Floats,
        coarse: LinearBody | None = None,
    ) -> None:
        mesh, edges = curved(points_mm, tets)
        self.cells, self.count = mesh.cells, len(mesh.nodes_mm)
        self._coarse = coarse or LinearBody(points_mm, tets)
        if coarse is None:
            self._coarse.factor(shear_MPa, bulk_MPa)
        self.volumes_mm3, self.gradients = self._coarse.volumes_mm3, self._coarse.gradients
        free = np.ones((self.count, 3), dtype=bool)
        free[: len(points_mm)] = self._coarse.unknowns.free
        self._free = free.ravel().astype(np.float64)
        self._matrix = self._summed(self._pair_blocks(shear_MPa, bulk_MPa))
        self._inverse = self._own_blocks_inverted()
        self._up = _prolongation(len(points_mm), edges)
        self._damping = 1.0 / self._largest_eigenvalue()

    def _pair_blocks(self, shear_MPa: Floats, bulk_MPa: Floats) -> Floats:
        """(e, 55, 3, 3) couplings of the pairs of nodes of each tetrahedron."""
        outer = np.einsum("e,eki,elj->klije", self.volumes_mm3, self.gradients, self.gradients)
        pairs = (_PRODUCT @ outer.reshape(16, -1)).reshape(len(_ONE), 3, 3, -1)
        blocks = (bulk_MPa - 2 / 3 * shear_MPa) * pairs + shear_MPa * pairs.transpose(0, 2, 1, 3)
        trace = shear_MPa * np.einsum("piie->pe", pairs)
        for k in range(3):
            blocks[:, k, k] += trace
        return np.asarray(blocks.transpose(3, 0, 1, 2))

    def _summed(self, blocks: Floats) -> bsr_array:
        rows, columns = self.cells[:, _ONE].ravel(), self.cells[:, _TWO].ravel()
        blocks = blocks.reshape(-1, 3, 3)
        turned = rows > columns
        blocks[turned] = blocks[turned].transpose(0, 2, 1)
        keys = np.minimum(rows, columns) * self.count + np.maximum(rows, columns)
        order = np.argsort(keys, kind="stable")
        starts = np.flatnonzero(np.diff(keys[order], prepend=-1))
        values = np.add.reduceat(blocks[order].reshape(-1, 9), starts, axis=0).reshape(-1, 3, 3)
        rows, columns = np.divmod(keys[order][starts], self.count)
        off = rows != columns
        rows, columns = np.concatenate([rows, columns[off]]), np.concatenate([columns, rows[off]])
        values = np.concatenate([values, values[off].transpose(0, 2, 1)])
        order = np.lexsort((columns, rows))
        counts = np.bincount(rows, minlength=self.count)
        pointer = np.concatenate([[0], np.cumsum(counts)])
        self._own = np.flatnonzero(rows[order] == columns[order])
        shape = (3 * self.count, 3 * self.count)
        return bsr_array((values[order], columns[order], pointer), shape=shape)

    def _own_blocks_inverted(self) -> Floats:
        """(n, 3, 3) inverses of the nodes' own blocks, with held components cut out."""
        own = self._matrix.data[self._own].copy()
        free = self._free.reshape(-1, 3)
        own *= free[:, :, None] * free[:, None, :]
        own += (1 - free)[:, :, None] * np.eye(3)
        return np.asarray(np.linalg.inv(own))

    def _largest_eigenvalue(self) -> float:
        """Of the relaxed matrix, a little above what a few power steps find (from a fixed start)."""
        x = np.cos(np.arange(3 * self.count) * 1.7) * self._free
        size = 1.0
        for _ in range(12):
            x = self._relaxed(self._times(x))
            size = float(np.linalg.norm(x))
            x /= size
        return 1.1 * size

    def _times(self, x: Floats) -> Floats:
        return np.asarray(self._free * (self._matrix @ x))

    def _relaxed(self, x: Floats) -> Floats:
        return np.asarray(np.einsum("nij,nj->ni", self._inverse, x.reshape(-1, 3)).ravel())

    def _smoothed(self, right: Floats) -> Floats:
        """One step on each level and one more: symmetric, so that conjugate gradients may use it."""
        x = self._damping * self._relaxed(right)
        rest = self._up.T @ (right - self._times(x)).reshape(-1, 3)
        coarse = np.zeros_like(rest)
        free = self._coarse.unknowns.free
        coarse[free] = self._coarse.solved(rest[free])
        x += self._free * (self._up @ coarse).ravel()
        return np.asarray(x + self._damping * self._relaxed(right - self._times(x)))

    def displacement_mm(self, stress_MPa: Floats, *, tolerance: float = 1e-4) -> Floats:
        """(n, 3) displacement of all nodes that balances an imposed stress (e, 3, 3) (see LinearBody).

        tolerance : of the forces out of balance over the forces imposed
        raises    : BadSum when the sum does not settle
        """
        return self._balanced(self._forces(stress_MPa), tolerance).reshape(-1, 3)

    def _forces(self, stress_MPa: Floats) -> Floats:
        """(3n,) forces of an imposed stress, nought at held components."""
        slopes = np.einsum("ak,ekj->eaj", _MEAN, self.gradients)
        forces = slopes @ (self.volumes_mm3[:, None, None] * stress_MPa)
        cells = self.cells.ravel()
        right = np.stack([np.bincount(cells, forces[:, :, k].ravel(), self.count) for k in range(3)], axis=1)
        return np.asarray(right.ravel() * self._free)

    def system(self, stress_MPa: Floats) -> tuple[Floats, csr_array]:
        """Right side (u,) and matrix (u, u) of the free components, to solve in another way."""
        free = np.flatnonzero(self._free)
        return self._forces(stress_MPa)[free], csr_array(self._matrix.tocsr()[free][:, free])

    def _balanced(self, right: Floats, tolerance: float) -> Floats:
        wanted = tolerance * float(np.linalg.norm(right))
        x, rest = np.zeros_like(right), right.copy()
        ahead = step = self._smoothed(rest)
        gain = float(rest @ ahead)
        for _ in range(_TIMES):
            if float(np.linalg.norm(rest)) <= wanted:
                return x
            pushed = self._times(step)
            size = gain / float(step @ pushed)
            x, rest = x + size * step, rest - size * pushed
            ahead = self._smoothed(rest)
            before, gain = gain, float(rest @ ahead)
            step = ahead + gain / before * step
        raise BadSum("the stresses do not settle; the mesh of the crown is likely damaged")

    def strain_at_corners(self, displacement_mm: Floats) -> Floats:
        """(e, 4, 3, 3) strain at the corners of each tetrahedron, unit 1."""
        weights = np.einsum("eaj,gak->egkj", displacement_mm[self.cells], _AT_CORNERS)
        slope = np.einsum("eki,egkj->egij", self.gradients, weights)
        return np.asarray(0.5 * (slope + slope.transpose(0, 1, 3, 2)))


def _prolongation(corners: int, edges: Index) -> csr_array:
    """(n, corners) values at corners carried to all nodes: mid-edge nodes take the mean of both ends."""
    middle = corners + np.arange(len(edges))
    rows = np.concatenate([np.arange(corners), middle, middle])
    columns = np.concatenate([np.arange(corners), edges[:, 0], edges[:, 1]])
    values = np.concatenate([np.ones(corners), np.full(2 * len(edges), 0.5)])
    return csr_array((values, (rows, columns)), shape=(corners + len(edges), corners))
