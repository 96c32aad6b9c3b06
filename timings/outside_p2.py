"""The same firing with an outside library: ten-node tetrahedra of scikit-fem, solved by SciPy's SuperLU.

Written for timings only: the law is the package's, everything else (mesh, basis, assembly, constraints) is
scikit-fem's. The matrix is symmetric, so SuperLU is given its symmetric ordering, which is several times
faster than its default.
"""

import time

import numpy as np
import skfem
from scipy.sparse.linalg import splu
from scipy.spatial import cKDTree
from skfem.helpers import ddot, div, sym_grad

from firstbake.fem.fire import step_shares
from firstbake.fem.law import (
    LEAST_POROSITY,
    MOST_POROSITY,
    bulk_viscosity,
    shear_viscosity,
    sintering_pull,
)


@skfem.BilinearForm
def _viscous(u, v, w):
    strain = ddot(sym_grad(u), sym_grad(v)) - div(u) * div(v) / 3
    return 2 * w["shear"] * strain + w["bulk"] * div(u) * div(v)


@skfem.LinearForm
def _pull(v, w):
    return -w["pull"] * div(v)


class OutsideP2:
    """Firing of a straight-edged mesh of linear tetrahedra, made quadratic."""

    def __init__(self, points_mm, tets, bonded) -> None:
        linear = skfem.MeshTet(points_mm.T.copy(), tets.T.astype(np.int32).copy())
        self.mesh = skfem.MeshTet2.from_mesh(linear)
        self.corners, self.edges = linear.t.T, linear.edges.T
        held = np.concatenate([bonded, bonded[self.edges].all(axis=1)])
        self.count = len(held)
        dofs = self._basis(self.mesh).dofs
        self.numbers = np.concatenate([dofs.nodal_dofs, dofs.edge_dofs], axis=1).T  # (n, 3), corners first
        self.held = self.numbers[held].ravel()
        self.places = np.concatenate([points_mm, points_mm[self.edges].mean(axis=1)])
        self.solving_s = self.assembling_s = 0.0

    def _basis(self, mesh):
        return skfem.Basis(mesh, skfem.ElementVector(skfem.ElementTetP2()), intorder=2)

    def _pace(self, places, masses):
        start = time.perf_counter()
        mesh = skfem.MeshTet2(places[self.order].T.copy(), self.mesh.t)
        basis = self._basis(mesh)
        th = np.clip(1 - masses / basis.dx, LEAST_POROSITY, MOST_POROSITY)
        matrix = _viscous.assemble(basis, shear=shear_viscosity(th), bulk=bulk_viscosity(th))
        right = _pull.assemble(basis, pull=sintering_pull(th))
        inner, b, x, free = skfem.condense(matrix, right, D=self.held)
        middle = time.perf_counter()
        factors = splu(
            inner.tocsc(),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        x[free] = factors.solve(b)
        end = time.perf_counter()
        self.assembling_s += middle - start
        self.solving_s += end - middle
        rate = float((div(basis.interpolate(x)) * basis.dx).sum())
        return x[self.numbers] * (basis.dx.sum() / rate)

    def fire(self, *, green_density: float, end_density: float, steps: int = 4):
        """(n, 3) fired places, corners first, then the middles of self.edges."""
        self._match()
        places = self.places
        first = self._basis(self.mesh).dx
        masses = first * green_density
        whole = masses.sum() / end_density
        for stride in np.log(whole / first.sum()) * step_shares(steps):
            rate = self._pace(places + 0.5 * stride * self._pace(places, masses), masses)
            places = places + stride * rate
        for _ in range(3):
            mesh = skfem.MeshTet2(places[self.order].T.copy(), self.mesh.t)
            places = places + np.log(whole / self._basis(mesh).dx.sum()) * rate
        return places

    def _match(self) -> None:
        """Find which of our places stands in which column of the outside mesh's own list of nodes."""
        self.order = cKDTree(self.places).query(self.mesh.doflocs.T)[1]
