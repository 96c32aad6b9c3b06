"""The independent check: curved tetrahedra with ten nodes, porosity kept at four points of each.

Slower than the default element (about four times the unknowns), and built on nothing of it but the law and
the
door to the solvers.
"""

from dataclasses import dataclass

import numpy as np

from firstbake.errors import BadSum
from firstbake.fem.element import DRAG
from firstbake.fem.fire import step_shares
from firstbake.fem.law import (
    LEAST_POROSITY,
    MOST_POROSITY,
    bulk_viscosity,
    shear_viscosity,
    sintering_pull,
)
from firstbake.fem.solver import LinearSolver, SolverMaker, solver_named
from firstbake.fem.tetrahedra import EDGES, Flags, Index, edge_table
from firstbake.fem.unknowns import Unknowns
from firstbake.mesh import Floats

_A, _B = (5 - np.sqrt(5)) / 20, (5 + 3 * np.sqrt(5)) / 20
GAUSS = np.where(np.eye(4) > 0, _B, _A)  # (4, 4) barycentric places, each with weight 1/24, exact to degree 2


@dataclass(frozen=True, eq=False)
class Curved:
    """Ten-node tetrahedra: nodes_mm (n, 3); cells (e, 10) the four corners, then the mid-edge nodes as
    EDGES."""

    nodes_mm: Floats
    cells: Index


def curved(points_mm: Floats, tets: Index) -> tuple[Curved, Index]:
    """Straight ten-node tetrahedra over linear ones, and (k, 2) corners of the mid-edge nodes, which
    follow the
    corners in the order of the nodes. Move the mid-edge nodes to curve them."""
    edges, sides = edge_table(tets)
    nodes = np.vstack([points_mm, points_mm[edges].mean(axis=1)])
    return Curved(nodes, np.hstack([tets, len(points_mm) + sides])), edges


def _slopes() -> Floats:
    """(4, 10, 3) slopes of the shape functions along the last three barycentric weights at GAUSS."""
    weight = np.array([[-1.0, -1.0, -1.0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    slopes = np.empty((4, 10, 3))
    for g, place in enumerate(GAUSS):
        slopes[g, :4] = (4 * place - 1)[:, None] * weight
        for k, (i, j) in enumerate(EDGES):
            slopes[g, 4 + k] = 4 * (place[i] * weight[j] + place[j] * weight[i])
    return slopes


SLOPES = _slopes()


class Quadratic:
    """Velocities of a body of ten-node tetrahedra. held : (n, 3) components that do not move."""

    def __init__(self, mesh: Curved, held: Flags, *, solver: SolverMaker | None = None) -> None:
        self.cells, self.count = mesh.cells, len(mesh.nodes_mm)
        self._drag = 0.0 if held.all(axis=1).sum() >= 3 else DRAG
        self.unknowns = Unknowns(mesh.nodes_mm, mesh.cells, ~held, np.zeros(3, dtype=bool))
        self._solver: LinearSolver = (solver or solver_named("fronts"))(self.unknowns)

    def gauss_volumes_mm3(self, nodes_mm: Floats) -> Floats:
        """(e, 4) volume that belongs to each Gauss point, mm³."""
        return self._shape(nodes_mm)[0]

    def motion(self, nodes_mm: Floats, masses_mm3: Floats) -> tuple[Floats, float]:
        """(n, 3) velocities, mm, and the volume rate, mm³. masses_mm3 : (e, 4) solid volume at Gauss
        points."""
        volumes, gradients = self._shape(nodes_mm)
        porosity = np.clip(1 - masses_mm3 / volumes, LEAST_POROSITY, MOST_POROSITY)
        self._solver.factor(self.unknowns.summed(self.cell_matrices(volumes, gradients, porosity)))
        push = -np.einsum("eg,egai->eai", volumes * sintering_pull(porosity), gradients)
        right = np.stack(
            [np.bincount(self.cells.ravel(), push[:, :, k].ravel(), minlength=self.count) for k in range(3)],
            1,
        )
        velocity = np.zeros((self.count, 3))
        free = self.unknowns.free
        velocity[free] = self._solver.solve(right[free].astype(np.float64))
        return velocity, float(np.einsum("eg,egai,eai->", volumes, gradients, velocity[self.cells]))

    def cell_matrices(self, volumes: Floats, gradients: Floats, porosity: Floats) -> Floats:
        """(e, 30, 30) from (e, 4) volumes, (e, 4, 10, 3) gradients and (e, 4) porosities."""
        shear = 2 * shear_viscosity(porosity) * volumes
        bulk = bulk_viscosity(porosity) * volumes
        outer = np.einsum("egai,eg,egbj->eaibj", gradients, shear, gradients, optimize=True)
        cells = 0.5 * outer.transpose(0, 1, 4, 3, 2) - outer / 3
        cells += np.einsum("egai,eg,egbj->eaibj", gradients, bulk, gradients, optimize=True)
        dots = 0.5 * np.einsum("egai,eg,egbi->eab", gradients, shear, gradients, optimize=True)
        trace = np.einsum("eaa->ea", dots)
        dots[:, range(10), range(10)] += self._drag * trace
        for axis in range(3):
            cells[:, :, axis, :, axis] += dots
        return np.ascontiguousarray(cells).reshape(len(cells), 30, 30)

    def _shape(self, nodes_mm: Floats) -> tuple[Floats, Floats]:
        jacobian = np.einsum("eai,gaj->egij", nodes_mm[self.cells], SLOPES)
        volumes = np.linalg.det(jacobian) / 24
        if not (volumes > 0).all():
            raise BadSum("a curved element has turned over; curve it less or mesh it finer")
        gradients = np.einsum("gaj,egji->egai", SLOPES, np.linalg.inv(jacobian))
        return volumes, gradients


def fire_quadratic(
    mesh: Curved,
    held: Flags,
    *,
    green_density: float,
    end_density: float,
    steps: int = 4,
    solver: SolverMaker | None = None,
) -> Floats:
    """(n, 3) fired nodes of a curved mesh, with the same midpoint steps in the logarithm of the volume as
    fire().

    raises : BadSum when an element turns over
    """
    element = Quadratic(mesh, held, solver=solver)
    volumes = element.gauss_volumes_mm3(mesh.nodes_mm)
    masses = volumes * green_density
    end = float(masses.sum()) / end_density
    nodes = mesh.nodes_mm

    def pace(places: Floats) -> Floats:
        velocity, rate = element.motion(places, masses)
        return np.asarray(velocity * (element.gauss_volumes_mm3(places).sum() / rate))

    for stride in np.log(end / volumes.sum()) * step_shares(steps):
        last = pace(nodes + 0.5 * stride * pace(nodes))
        nodes = nodes + stride * last
    for _ in range(3):  # what the steps miss of the volume
        nodes = nodes + np.log(end / element.gauss_volumes_mm3(nodes).sum()) * last
    return np.asarray(nodes)
