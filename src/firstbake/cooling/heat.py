"""Heat on its way through a crown: transient conduction on its tetrahedra."""

import numpy as np
from scipy.sparse import csr_array, diags_array
from scipy.sparse.linalg import cg

from firstbake.errors import BadSum
from firstbake.fem import Index, volumes_and_gradients
from firstbake.mesh import Floats

_G = 2.0 - np.sqrt(2.0)  # makes both stages share one matrix
_TOLERANCE = 1e-9
FURNACE_W_PER_M2K = 17.0  # shut or slowly opened furnace
BENCH_W_PER_M2K = 60.0  # open bench; both Kim et al. 2018, J Mech Behav Biomed Mater 82:202 (abstract)


class Conduction:
    """Conduction in a body of linear tetrahedra that exchanges heat with its surroundings through its skin.

    points_mm : (n, 3)      tets : (e, 4)      skin : (f, 3) cooled faces; all other faces pass no heat
    conductivity_W_per_mK : (e,)
    Steps in time are second-order and damp what they cannot follow (trapezium, then two-step backward
    formula; Bank et al. 1985, IEEE Trans. CAD 4, 436-451, from memory, unverified).
    """

    def __init__(
        self, points_mm: Floats, tets: Index, *, skin: Index, conductivity_W_per_mK: Floats
    ) -> None:
        self.tets, self.count = tets, len(points_mm)
        self.volumes_mm3, gradients = volumes_and_gradients(points_mm, tets)
        weight = self.volumes_mm3 * conductivity_W_per_mK * 1e-3  # W/(mm K)
        cells = np.einsum("e,eai,ebi->eab", weight, gradients, gradients)
        self._conducted = self._summed(tets, cells)
        a, b, c = (points_mm[skin[:, k]] for k in range(3))
        areas = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
        lumped = np.bincount(skin.ravel(), np.repeat(areas / 3, 3), minlength=self.count)
        self._skin_mm2 = np.asarray(lumped, dtype=np.float64)

    def _summed(self, cells: Index, values: Floats) -> csr_array:
        width = cells.shape[1]
        rows, columns = np.repeat(cells, width, axis=1).ravel(), np.tile(cells, (1, width)).ravel()
        return csr_array((values.ravel(), (rows, columns)), shape=(self.count, self.count))

    def stepped(
        self,
        degC: Floats,
        step_s: float,
        *,
        heat_J_per_mm3K: Floats,
        coefficient_W_per_m2K: float,
        ambient_degC: tuple[float, float, float],
    ) -> Floats:
        """(n,) temperatures after step_s.

        degC            : (n,) before
        heat_J_per_mm3K : (e,) heat capacity, taken as constant over the step
        ambient_degC    : of the surroundings at the beginning, at 2 - sqrt(2) of the step, and at its end
        raises          : BadSum when the sum does not settle
        """
        stored = np.bincount(
            self.tets.ravel(), np.repeat(self.volumes_mm3 * heat_J_per_mm3K / 4, 4), minlength=self.count
        )
        lost = 1e-6 * coefficient_W_per_m2K * self._skin_mm2
        flows = self._conducted + diags_array(lost)
        ahead = 0.5 * _G * step_s
        matrix = csr_array(flows * ahead + diags_array(stored))
        now, between, end = ambient_degC
        right = stored * degC - ahead * (flows @ degC) + ahead * lost * (now + between)
        middle = self._solved(matrix, right, guess=degC)
        mixed = (middle - (1 - _G) ** 2 * degC) / (_G * (2 - _G))
        guess = degC + (middle - degC) / _G
        # (1 - g)/(2 - g) = g/2 for this g, so that the matrix is the same
        return self._solved(matrix, stored * mixed + ahead * lost * end, guess=guess)

    def _solved(self, matrix: csr_array, right: Floats, *, guess: Floats) -> Floats:
        inverse = diags_array(1.0 / matrix.diagonal())
        found, failed = cg(matrix, right, x0=guess, rtol=_TOLERANCE, maxiter=2000, M=inverse)
        if failed:
            raise BadSum("the temperatures in the crown do not settle; the mesh is likely damaged")
        return np.asarray(found)
