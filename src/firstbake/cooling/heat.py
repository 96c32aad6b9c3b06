"""Heat on its way through a crown: transient conduction on its tetrahedra."""

import numpy as np

from firstbake.fem import Index, LinearSolver, Unknowns, solver_named, volumes_and_gradients
from firstbake.mesh import Floats

_G = 2.0 - np.sqrt(2.0)  # makes both stages share one matrix


class Conduction:
    """Conduction in a body of linear tetrahedra that exchanges heat with its surroundings through its skin.

    points_mm : (n, 3)      tets : (e, 4)      skin : (f, 3) cooled faces; all other faces pass no heat
    conductivity_W_per_mK : (e,)
    Steps in time are second-order and damp what they cannot follow (trapezium, then two-step backward
    formula; Bank et al. 1985, IEEE Trans. CAD 4, 436-451, from memory, unverified).
    """

    def __init__(self, points_mm: Floats, tets: Index, *, skin: Index, conductivity_W_per_mK: Floats) -> None:
        self.tets, self.count = tets, len(points_mm)
        self.volumes_mm3, gradients = volumes_and_gradients(points_mm, tets)
        weight = self.volumes_mm3 * conductivity_W_per_mK * 1e-3  # W/(mm K)
        self._unknowns = Unknowns(
            points_mm, tets, np.ones((self.count, 1), dtype=bool), np.zeros(1, dtype=bool)
        )
        self._conducted = self._unknowns.summed(np.einsum("e,eai,ebi->eab", weight, gradients, gradients))
        self._solver: LinearSolver = solver_named("fronts")(self._unknowns)
        a, b, c = (points_mm[skin[:, k]] for k in range(3))
        areas = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
        lumped = np.bincount(skin.ravel(), np.repeat(areas / 3, 3), minlength=self.count)
        self._skin_mm2 = np.asarray(lumped, dtype=np.float64)

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
        """
        stored = np.bincount(
            self.tets.ravel(), np.repeat(self.volumes_mm3 * heat_J_per_mm3K / 4, 4), minlength=self.count
        )
        lost = 1e-6 * coefficient_W_per_m2K * self._skin_mm2
        ahead = 0.5 * _G * step_s
        blocks = self._conducted * ahead
        blocks[0, 0, : self.count] += stored + ahead * lost
        self._solver.factor(blocks)
        now, between, end = ambient_degC
        right = 2 * stored * degC - self._times(blocks, degC) + ahead * lost * (now + between)
        middle = self._solver.solve(right)
        mixed = (middle - (1 - _G) ** 2 * degC) / (_G * (2 - _G))
        # (1 - g) / (2 - g) = g / 2 for this g, so that both stages have one matrix
        return self._solver.solve(stored * mixed + ahead * lost * end)

    def _times(self, blocks: Floats, degC: Floats) -> Floats:
        one, two = self._unknowns.pairs.ends[self.count :].T
        off = blocks[0, 0, self.count :]
        found = blocks[0, 0, : self.count] * degC
        found += np.bincount(one, off * degC[two], self.count) + np.bincount(two, off * degC[one], self.count)
        return np.asarray(found)
