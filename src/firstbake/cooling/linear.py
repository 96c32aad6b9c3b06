"""Elastic equilibrium on linear tetrahedra: quick, for the many steps of the way down."""

import numpy as np

from firstbake.cooling.grip import gripped
from firstbake.fem import Index, LinearSolver, Unknowns, solver_named, volumes_and_gradients
from firstbake.mesh import Floats

EYE = np.eye(3)


class LinearBody:
    """A free body of linear tetrahedra, held by six components so that it neither moves nor turns.

    points_mm : (n, 3)      tets : (e, 4)
    """

    def __init__(self, points_mm: Floats, tets: Index) -> None:
        self.tets, self.count = tets, len(points_mm)
        self.volumes_mm3, self.gradients = volumes_and_gradients(points_mm, tets)
        free = ~gripped(points_mm)
        free[np.bincount(tets.ravel(), minlength=self.count) == 0] = False
        self.unknowns = Unknowns(points_mm, tets, free, np.zeros(3, dtype=bool))
        self._solver: LinearSolver = solver_named("fronts")(self.unknowns)

    def factor(self, shear_MPa: Floats, bulk_MPa: Floats) -> None:
        """Make ready for moduli (e,) of the tetrahedra, MPa.

        With M the sum of V g_a g_b^T over the elements of a pair: lame M + shear M^T + shear tr(M).
        raises : BadSum when a tetrahedron has no positive volume
        """
        pairs = self.unknowns.pairs
        slopes = np.ascontiguousarray(self.gradients.reshape(-1, 3).T)
        by_corner = [np.repeat(self.volumes_mm3 * m, 4) for m in (bulk_MPa - 2 / 3 * shear_MPa, shear_MPa)]
        second = [slope[pairs.second] for slope in slopes]
        blocks = np.zeros((3, 3, len(pairs.ends)))
        for i in range(3):
            lame, shear = ((slopes[i] * weight)[pairs.first] for weight in by_corner)
            for j in range(3):
                blocks[i, j] += pairs.adder @ (lame * second[j])
                sheared = pairs.adder @ (shear * second[j])
                blocks[j, i] += sheared
                if i == j:
                    for k in range(3):
                        blocks[k, k] += sheared
        self._solver.factor(blocks)

    def displacement_mm(self, stress_MPa: Floats) -> Floats:
        """(n, 3) displacement that balances an imposed stress (e, 3, 3), with the last moduli.

        The body answers div(C e(u)) = div(stress): a stress of 3 K a dT I swells it freely by a dT.
        """
        forces = self.gradients @ (self.volumes_mm3[:, None, None] * stress_MPa)
        right = np.stack(
            [np.bincount(self.tets.ravel(), forces[:, :, k].ravel(), minlength=self.count) for k in range(3)],
            axis=1,
        ).astype(np.float64)
        answer = np.zeros((self.count, 3))
        free = self.unknowns.free
        answer[free] = self.solved(right[free])
        return answer

    def solved(self, forces: Floats) -> Floats:
        """(u,) displacements of the free components under forces (u,) on them."""
        return self._solver.solve(forces)

    def strain(self, displacement_mm: Floats) -> Floats:
        """(e, 3, 3) strain of the tetrahedra, unit 1."""
        slope = self.gradients.transpose(0, 2, 1) @ displacement_mm[self.tets]
        return np.asarray(0.5 * (slope + slope.transpose(0, 2, 1)))


def stress_MPa(strain: Floats, shear_MPa: Floats, bulk_MPa: Floats) -> Floats:
    """(..., 3, 3) elastic stress of a strain; moduli (...,) MPa."""
    trace = np.trace(strain, axis1=-2, axis2=-1)
    shared = (bulk_MPa - 2 / 3 * shear_MPa) * trace
    return np.asarray(2 * shear_MPa[..., None, None] * strain + shared[..., None, None] * EYE)


def deviator(tensor: Floats) -> Floats:
    """(..., 3, 3) the part that changes form, not volume."""
    return np.asarray(tensor - np.trace(tensor, axis1=-2, axis2=-1)[..., None, None] / 3 * EYE)
