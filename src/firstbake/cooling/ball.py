"""A round shell of porcelain on a round core, cooled: one dimension, for quick questions and for checks."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_banded, solveh_banded

from firstbake.cooling.setting import kept_share, relaxation_s, structure_after
from firstbake.cooling.solid import Solid
from firstbake.cooling.surroundings import ROOM_DEGC, Leg
from firstbake.errors import BadSum
from firstbake.mesh import Floats

_IN_CORE, _IN_VENEER = 4, 24
_COLD_DEGC = 60.0
_STARTS = (
    0.005  # share of the shear modulus from which on a step is worth a sum of stresses (chosen by trial)
)
_MOST_STEPS = 5000


@dataclass(frozen=True, eq=False)
class BallStress:
    """Cold stress of the porcelain from the core outward.

    radius_mm : (k,) middles      hoop_MPa, radial_MPa : (k,) greater than 0 pulls
    core_hoop_MPa : greatest in the core      set_degC : (k,) structural temperature kept
    """

    radius_mm: Floats
    hoop_MPa: Floats
    radial_MPa: Floats
    core_hoop_MPa: float
    set_degC: Floats


def ball_stress(
    veneer: Solid,
    core: Solid,
    legs: tuple[Leg, ...],
    *,
    inner_mm: float,
    wall_mm: float,
    thickness_mm: float,
    start_degC: float,
    fall_K: float = 5.0,
) -> BallStress:
    """A core from radius inner_mm with a wall, porcelain of a thickness on it, cooled from outside only.

    fall_K : fall of the porcelain's mean in one step
    raises : BadSum when a length is not greater than 0 or the legs do not cool it
    """
    if min(inner_mm, wall_mm, thickness_mm) <= 0:
        raise BadSum("a ball needs a radius, a wall and a thickness greater than 0 mm")
    ball = _Ball(veneer, core, np.array([inner_mm, inner_mm + wall_mm, inner_mm + wall_mm + thickness_mm]))
    return ball.cooled(legs, start_degC, fall_K)


class _Ball:
    """Shells: cells of one material each between the nodes; the porcelain's follow the core's."""

    def __init__(self, veneer: Solid, core: Solid, radii_mm: Floats) -> None:
        self.veneer, self.core = veneer, core
        inner, bond, outer = radii_mm
        self.nodes_mm = np.concatenate(
            [np.linspace(inner, bond, _IN_CORE + 1), np.linspace(bond, outer, _IN_VENEER + 1)[1:]]
        )
        self.middle_mm, self.long_mm = (self.nodes_mm[1:] + self.nodes_mm[:-1]) / 2, np.diff(self.nodes_mm)
        self.glassy = np.arange(len(self.long_mm)) >= _IN_CORE
        self.conducts = self._of("conductivity_W_per_mK") * 1e-3 * self.middle_mm**2 / self.long_mm
        self.outward = np.stack([-1 / self.long_mm, 1 / self.long_mm], axis=1)
        self.around = np.repeat(0.5 / self.middle_mm[:, None], 2, axis=1)
        self.weight = self.middle_mm**2 * self.long_mm

    def _of(self, name: str) -> Floats:
        veneer, core = float(getattr(self.veneer, name)), float(getattr(self.core, name))
        return np.where(self.glassy, veneer, core)

    def cooled(self, legs: tuple[Leg, ...], start_degC: float, fall_K: float) -> BallStress:
        self.fall_K, self.begun = fall_K, False
        self.degC = np.full(len(self.nodes_mm), start_degC)
        cells = np.full(len(self.long_mm), start_degC)
        self.structure, self.shear_MPa = cells.copy(), np.zeros(len(cells))
        self.pressure_MPa = np.zeros(len(cells))
        self.moduli = self._of("shear_MPa"), self._of("bulk_MPa")
        self.swells = self._of("expansion_ppm_per_K") * 1e-6
        self.melts = self.swells * (self._of("liquid_ratio") - 1.0)
        for leg in legs:
            self._go(leg)
        self._remember(np.full(len(self.nodes_mm), ROOM_DEGC), 600.0)
        hoop, radial = self.pressure_MPa - self.shear_MPa / 2, self.pressure_MPa + self.shear_MPa
        v = self.glassy
        return BallStress(self.middle_mm[v], hoop[v], radial[v], float(hoop[~v].max()), self.structure[v])

    def _go(self, leg: Leg) -> None:
        begun, since, step = self._mean(), 0.0, 0.02
        for _ in range(_MOST_STEPS):
            before = self._mean()
            if before <= max(leg.to_degC, _COLD_DEGC) + 0.01:
                return
            self._remember(self._conducted(leg, begun, since + step, step), step)
            since += step
            left = max(self._mean() - max(leg.to_degC, _COLD_DEGC), 0.05)
            step *= float(np.clip(min(self.fall_K, left) / max(before - self._mean(), 1e-4), 0.2, 1.5))
        raise BadSum("the ball does not cool along this programme")

    def _mean(self) -> float:
        cells = (self.degC[1:] + self.degC[:-1]) / 2
        return float((self.weight * cells)[self.glassy].sum() / self.weight[self.glassy].sum())

    def _conducted(self, leg: Leg, begun_degC: float, since_s: float, step_s: float) -> Floats:
        """Temperatures after a backward step (steps are short)."""
        cells = (self.degC[1:] + self.degC[:-1]) / 2
        heat = np.where(self.glassy, self.veneer.heat_J_per_mm3K(cells), self.core.heat_J_per_mm3K(cells))
        stored = np.zeros(len(self.nodes_mm))
        stored[1:] += heat * (self.nodes_mm[1:] ** 3 - self.middle_mm**3) / 3
        stored[:-1] += heat * (self.middle_mm**3 - self.nodes_mm[:-1] ** 3) / 3
        lost = 1e-6 * leg.exchange_W_per_m2K(self._mean()) * self.nodes_mm[-1] ** 2
        bands = np.zeros((3, len(stored)))
        bands[1] = stored / step_s
        bands[1, :-1] += self.conducts
        bands[1, 1:] += self.conducts
        bands[0, 1:] = bands[2, :-1] = -self.conducts
        bands[1, -1] += lost
        right = stored / step_s * self.degC
        right[-1] += lost * leg.ambient_degC(begun_degC, since_s)
        return np.asarray(solve_banded((1, 1), bands, right))

    def _remember(self, degC: Floats, step_s: float) -> None:
        """Shear stress is kept as the radial part of the deviator; the hoop part is minus half of it."""
        before, after = ((t[1:] + t[:-1]) / 2 for t in (self.degC, degC))
        relaxed = np.full(len(before), np.inf)
        if self.veneer.viscosity is None:
            raise BadSum(f"{self.veneer.name} has no viscosity, so it cannot set")
        v = self.glassy
        relaxed[v] = relaxation_s(
            self.veneer.viscosity,
            (before[v] + after[v]) / 2,
            self.structure[v],
            shear_MPa=self.veneer.shear_MPa,
        )
        left, share = kept_share(step_s, relaxed)
        structure = np.where(v, structure_after(self.structure, (before, after), step_s, relaxed), after)
        if self.begun or share[v].max() >= _STARTS:
            if not self.begun:  # the core counts its temperature from its mean
                self.begun = True
                before = np.where(v, before, np.average(before[~v], weights=self.weight[~v]))
            swelling = self.swells * (after - before) + self.melts * (structure - self.structure)
            self._balance(swelling, left, share)
        self.degC, self.structure = degC, structure

    def _balance(self, swelling: Floats, left: Floats, share: Floats) -> None:
        shear, bulk = self.moduli[0] * share, self.moduli[1]
        sheared = (self.outward - self.around) * (2 / 3)
        volume = self.outward + 2 * self.around
        stiff = bulk[:, None, None] * volume[:, :, None] * volume[:, None, :]
        stiff = stiff + 3 * shear[:, None, None] * sheared[:, :, None] * sheared[:, None, :]
        stiff = self.weight[:, None, None] * stiff
        pressed = self.pressure_MPa - 3 * bulk * swelling
        force = (1.5 * left * self.shear_MPa)[:, None] * sheared + pressed[:, None] * volume
        force = -self.weight[:, None] * force
        bands, right = np.zeros((2, len(self.nodes_mm))), np.zeros(len(self.nodes_mm))
        bands[1, :-1] += stiff[:, 0, 0]
        bands[1, 1:] += stiff[:, 1, 1]
        bands[0, 1:] = stiff[:, 0, 1]
        right[:-1] += force[:, 0]
        right[1:] += force[:, 1]
        moved = solveh_banded(bands, right)
        ends = np.stack([moved[:-1], moved[1:]], axis=1)
        self.shear_MPa = left * self.shear_MPa + 2 * shear * (sheared * ends).sum(axis=1)
        self.pressure_MPa = pressed + bulk * (volume * ends).sum(axis=1)
