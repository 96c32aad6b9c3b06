"""The default element: linear tetrahedra with volume change and porosity averaged round each node.

Plain linear tetrahedra lock as the pores close; here the volume constraint is held once per node instead
of once
per element. With D = W D_e (D_e volume-rate rows of the elements, W a quarter to each corner) and V_a = W V:

    sum_e V_e 2 G_e dev + D^T diag(Kb(th_a) / V_a) D,   right side -D^T P(th_a),   th_a = 1 - m_a / V_a

It is solved with the pressures q_a = Kb D v / V_a kept as unknowns, so that only direct neighbours couple.
source : average nodal pressure, Bonet and Burton 1998, Commun. Numer. Meth. Eng. 14, 437-449; equal to linear
         velocities and pressures with a lumped pressure mass
"""

from dataclasses import dataclass

import numpy as np

from firstbake.fem.law import (
    LEAST_POROSITY,
    MOST_POROSITY,
    bulk_viscosity,
    shear_viscosity,
    sintering_pull,
)
from firstbake.fem.solver import LinearSolver, SolverMaker, solver_named
from firstbake.fem.tetrahedra import Flags, Index, volumes_and_gradients
from firstbake.fem.unknowns import Unknowns
from firstbake.mesh import Floats

DRAG = 1e-9  # of the element stiffness, on every node of a body that nothing holds: keeps it where it is


@dataclass(frozen=True, eq=False)
class Motion:
    """Velocities of one state, per unit of scaled time.

    velocity_mm   : (n, 3) of the nodes, mm       volume_rate_mm3 : of the whole body, mm³
    tension       : (n,) mean stress of the nodes in units of the sintering stress, greater than 0 in tension
    """

    velocity_mm: Floats
    volume_rate_mm3: float
    tension: Floats


class NodeAveraged:
    """Velocities of a body of tetrahedra.

    tets  : (e, 4)      held : (n, 3) components that do not move
    turns : (n, 3, 3) rows are the directions that `held` speaks of, or None for x, y, z
    brake : (n, 3, 3) resistance of the nodes to motion, over twice their shear viscosity and volume, 1/mm²
    """

    def __init__(
        self,
        points_mm: Floats,
        tets: Index,
        held: Flags,
        *,
        turns: Floats | None = None,
        brake: Floats | None = None,
        solver: SolverMaker | None = None,
    ) -> None:
        self.brake = brake
        self.tets, self.count, self.turns = tets, len(points_mm), turns
        free = np.column_stack([~held, np.ones(len(held), dtype=bool)])
        free[np.bincount(tets.ravel(), minlength=len(held)) == 0] = False
        self.unknowns = Unknowns(points_mm, tets, free, np.array([False, False, False, True]))
        self._drag = 0.0 if held.all(axis=1).sum() >= 3 else DRAG
        self._solver: LinearSolver = (solver or solver_named("fronts"))(self.unknowns)

    def volumes_mm3(self, points_mm: Floats) -> Floats:
        """(n,) volume that belongs to each node, mm³; they add up to the body."""
        return self._to_nodes(volumes_and_gradients(points_mm, self.tets)[0] / 4)

    def masses_mm3(self, points_mm: Floats, density: Floats) -> Floats:
        """(n,) solid volume of each node, mm³, for densities (e,) of the tetrahedra (0 to 1)."""
        return self._to_nodes(volumes_and_gradients(points_mm, self.tets)[0] / 4 * density)

    def porosity(self, points_mm: Floats, masses_mm3: Floats) -> Floats:
        """(n,) porosity of the nodes, kept within what the law can take."""
        volumes = self.volumes_mm3(points_mm)
        return np.clip(1 - masses_mm3 / np.maximum(volumes, 1e-30), LEAST_POROSITY, MOST_POROSITY)

    def motion(
        self, points_mm: Floats, masses_mm3: Floats, *, closed_at: float = 0.0, load_mm2: Floats | None = None
    ) -> Motion:
        """Velocities of the state.

        closed_at : porosity at which dense porcelain stops to shrink      load_mm2 : (n, 3) outer forces
            over the
        unit of stress, mm²
        """
        volumes, gradients = volumes_and_gradients(points_mm, self.tets)
        porosity = self.porosity(points_mm, masses_mm3)
        pull = sintering_pull(porosity, closed_at=closed_at)
        self._solver.factor(self.blocks(volumes, gradients, porosity))
        push = -(volumes / 4 * pull[self.tets].sum(axis=1))[:, None, None] * gradients
        right = np.zeros((self.count, 4))
        for axis in range(3):
            right[:, axis] = np.bincount(self.tets.ravel(), push[:, :, axis].ravel(), minlength=self.count)
        if load_mm2 is not None:
            right[:, :3] += load_mm2
        if self.turns is not None:
            right[:, :3] = np.einsum("nij,nj->ni", self.turns, right[:, :3])
        answer = np.zeros((self.count, 4))
        answer[self.unknowns.free] = self._solver.solve(right[self.unknowns.free])
        velocity = answer[:, :3]
        if self.turns is not None:
            velocity = np.einsum("nij,ni->nj", self.turns, velocity)
        rate = float(np.einsum("e,eai,eai->", volumes, gradients, velocity[self.tets]))
        return Motion(velocity, rate, answer[:, 3] + pull)

    def blocks(self, volumes: Floats, gradients: Floats, porosity: Floats) -> Floats:
        """(4, 4, p) blocks over x, y, z velocity and pressure of the pairs of nodes (see Unknowns).

        With M the sum of w g_a g_b^T over the elements of a pair, w = 2 G V, the velocities are coupled by
        M^T / 2 - M / 3 + tr(M) / 2. A flat element that has turned over (fire() allows a thousandth of the
        volume) still resists shear.
        """
        pairs = self.unknowns.pairs
        weight = 2 * shear_viscosity(porosity)[self.tets].mean(axis=1) * np.abs(volumes)
        slopes = np.ascontiguousarray(gradients.reshape(-1, 3).T)
        scaled, coupling = slopes * np.repeat(weight, 4), slopes * np.repeat(volumes / 4, 4)
        second = [slope[pairs.second] for slope in slopes]
        outer, blocks = np.empty((3, 3, len(pairs.ends))), np.zeros((4, 4, len(pairs.ends)))
        for i in range(3):
            first = scaled[i][pairs.first]
            for j in range(3):
                outer[i, j] = pairs.adder @ (first * second[j])
            blocks[i, 3] = pairs.adder @ coupling[i][pairs.first]
            blocks[3, i] = pairs.adder @ coupling[i][pairs.second]
        trace = outer[0, 0] + outer[1, 1] + outer[2, 2]
        blocks[:3, :3] = 0.5 * outer.transpose(1, 0, 2) - outer / 3
        trace[: self.count] *= 1 + 2 * self._drag
        for axis in range(3):
            blocks[axis, axis] += 0.5 * trace
        blocks[3, 3, : self.count] = -self._to_nodes(np.abs(volumes) / 4) / bulk_viscosity(porosity)
        if self.brake is not None:
            blocks[:3, :3, : self.count] += self._to_nodes(weight / 4) * self.brake.transpose(1, 2, 0)
        return blocks if self.turns is None else self._turned(blocks)

    def _turned(self, blocks: Floats) -> Floats:
        """The same blocks for velocities along the directions of `turns`."""
        turns = np.tile(np.eye(4), (self.count, 1, 1))
        turns[:, :3, :3] = self.turns
        one, two = self.unknowns.pairs.ends.T
        turned = turns[one] @ blocks.transpose(2, 0, 1) @ turns[two].transpose(0, 2, 1)
        return np.ascontiguousarray(turned.transpose(1, 2, 0))

    def _to_nodes(self, each: Floats) -> Floats:
        total = np.bincount(self.tets.ravel(), np.repeat(each, 4), minlength=self.count)
        return np.asarray(total, dtype=np.float64)
