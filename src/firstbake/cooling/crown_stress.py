"""cooling_stress: heat and stress of one crown from the furnace to the bench."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from firstbake.cooling.heat import Conduction
from firstbake.cooling.linear import LinearBody, stress_MPa
from firstbake.cooling.recovery import at_nodes
from firstbake.cooling.remembered import Filling, Remembered
from firstbake.cooling.surroundings import ROOM_DEGC, Leg
from firstbake.cooling.tennode import TenNode
from firstbake.cooling.walled import Walled, node_normals
from firstbake.errors import BadSum
from firstbake.mesh import Floats

_COARSE_K, _FINE_K = 50.0, 13.0  # fall of the mean in one step: far from setting, and about it (by trial)
_COLD_DEGC = 60.0  # below this the rest of the way is one step
_LAST_S = 600.0  # longer than any crown takes for the rest of the way
_MOST_STEPS = 2000


@dataclass(frozen=True, eq=False)
class Moment:
    """A step of the way down, for the chart: s; porcelain's mean, hottest, coolest, and core's mean, degC."""

    time_s: float
    mean_degC: float
    hottest_degC: float
    coolest_degC: float
    core_degC: float


@dataclass(frozen=True, eq=False)
class CoolingStress:
    """What cooling leaves in a crown.

    stress_MPa       : (n, 3, 3) at the porcelain's nodes, cold, from the porcelain's side
    tension_MPa      : (n,) greatest pull in any direction, cold
    on_the_way_MPa   : (n,) greatest pull at any time after setting began, and (n,) when, s after the hold
    pull_off_MPa     : (n,) pull square to the bond at bonded nodes, NaN elsewhere; greater than 0 lifts
    core_tension_MPa : greatest pull in the core, cold (mean over each tetrahedron)
    set_degC         : coolest and hottest structural temperature that the porcelain kept
    greatest_gap_K   : greatest difference on the way within the porcelain, and from its mean to the core's
    moments          : the way down
    """

    stress_MPa: Floats
    tension_MPa: Floats
    on_the_way_MPa: Floats
    on_the_way_s: Floats
    pull_off_MPa: Floats
    core_tension_MPa: float
    set_degC: tuple[float, float]
    greatest_gap_K: tuple[float, float]
    moments: tuple[Moment, ...]


def cooling_stress(
    walled: Walled,
    filling: Filling,
    legs: tuple[Leg, ...],
    *,
    start_degC: float,
    progress: Callable[[float], None] = lambda share: None,
) -> CoolingStress:
    """Cool a crown from an even start_degC (the end of the hold) along the legs to room temperature.

    progress : told the share done, 0 to 1; raise from it to stop
    raises   : BadSum when temperatures or stresses do not settle, or the legs never cool the piece
    """
    way = _Way(walled, filling, start_degC)
    for leg in legs:
        way.go(leg, progress)
    way.finish()
    progress(0.8)
    stress, core = way.cold()
    tension = np.asarray(np.linalg.eigvalsh(stress)[:, 2], dtype=np.float64)
    set_at = way.state.structural_degC[filling.glassy]
    normals = node_normals(walled.nodes_mm, walled.bond)[: len(stress)]
    pull_off = np.einsum("ni,nij,nj->n", normals, stress, normals)
    pull_off[~normals.any(axis=1)] = np.nan
    return CoolingStress(
        stress_MPa=stress,
        tension_MPa=tension,
        on_the_way_MPa=np.maximum(way.most_MPa, tension),
        on_the_way_s=np.where(way.most_MPa >= tension, way.most_s, way.time_s),
        pull_off_MPa=pull_off,
        core_tension_MPa=core,
        set_degC=(float(set_at.min()), float(set_at.max())),
        greatest_gap_K=way.gaps_K,
        moments=tuple(way.moments),
    )


class _Way:
    """The way down, step by step."""

    def __init__(self, walled: Walled, filling: Filling, start_degC: float) -> None:
        self.walled, self.filling, self.start_degC = walled, filling, start_degC
        self.body = LinearBody(walled.nodes_mm, walled.tets)
        self.heat = Conduction(
            walled.nodes_mm,
            walled.tets,
            skin=walled.skin,
            conductivity_W_per_mK=filling.value("conductivity_W_per_mK"),
        )
        self.degC = np.full(len(walled.nodes_mm), start_degC)
        self.state = Remembered(self.body, filling, self._in_cells())
        glassy = filling.glassy
        self._mean = np.where(glassy, self.body.volumes_mm3, 0.0) / self.body.volumes_mm3[glassy].sum()
        self.to_nodes = at_nodes(walled.nodes_mm, walled.tets[glassy], self.body.volumes_mm3[glassy])
        self.most_MPa = np.zeros(self.to_nodes.shape[0])
        self.most_s = np.zeros(self.to_nodes.shape[0])
        self.time_s, self.gaps_K = 0.0, (0.0, 0.0)
        self.moments: list[Moment] = []

    def _in_cells(self) -> Floats:
        return np.asarray(self.degC[self.walled.tets].mean(axis=1))

    def go(self, leg: Leg, progress: Callable[[float], None]) -> None:
        """Along one leg until the porcelain's mean is at its end."""
        begun, begun_s, step_s = self.mean_degC, self.time_s, 0.05
        end = max(leg.to_degC, _COLD_DEGC)
        for _ in range(_MOST_STEPS):
            before = self.mean_degC
            if before <= end + 0.5:
                return
            self._step(leg, begun, self.time_s - begun_s, step_s)
            fell = max(before - self.mean_degC, 1e-3)
            progress(0.9 * (self.start_degC - self.mean_degC) / (self.start_degC - ROOM_DEGC))
            wanted = min(_FINE_K if self._near_setting() else _COARSE_K, max(self.mean_degC - end, 0.5))
            step_s *= float(np.clip(wanted / fell, 0.2, 2.0))
        raise BadSum("the crown does not cool along this programme; check its cooling")

    def _near_setting(self) -> bool:
        coolest = float(self.state.degC[self.filling.glassy].min())
        return not self.state.all_set and coolest < self._nearing_degC

    @property
    def _nearing_degC(self) -> float:
        """Where steps become fine: all porcelain above is a melt that forgets within a step."""
        found = [s.viscosity.degC_at(8.3) for s in self.filling.solids if s.viscosity is not None]
        return max(found)

    @property
    def mean_degC(self) -> float:
        """Mean of the porcelain by volume."""
        return float(self._mean @ self._in_cells())

    def _step(self, leg: Leg, begun_degC: float, since_s: float, step_s: float) -> None:
        cells = self._in_cells()
        ambient = [leg.ambient_degC(begun_degC, since_s + s * step_s) for s in (0.0, 2 - 2**0.5, 1.0)]
        self.degC = self.heat.stepped(
            self.degC,
            step_s,
            heat_J_per_mm3K=self.filling.heat_J_per_mm3K(cells),
            coefficient_W_per_m2K=leg.exchange_W_per_m2K(self.mean_degC),
            ambient_degC=(ambient[0], ambient[1], ambient[2]),
        )
        self.time_s += step_s
        self._remember(self._in_cells(), step_s)

    def _remember(self, cells: Floats, step_s: float) -> None:
        glassy = self.filling.glassy
        summed = self.state.stepped(cells, step_s)
        mean = float(self._mean @ cells)
        hot, cool = float(cells[glassy].max()), float(cells[glassy].min())
        core = float(cells[~glassy].mean()) if (~glassy).any() else mean
        self.gaps_K = (max(self.gaps_K[0], hot - cool), max(self.gaps_K[1], abs(core - mean)))
        self.moments.append(Moment(self.time_s, mean, hot, cool, core))
        if summed:
            stress = self.to_nodes @ self.state.stress_MPa[glassy].reshape(-1, 9)
            pull = np.linalg.eigvalsh(stress.reshape(-1, 3, 3))[:, 2]
            more = pull > self.most_MPa
            self.most_MPa[more], self.most_s[more] = pull[more], self.time_s

    def cold(self) -> tuple[Floats, float]:
        """(n, 3, 3) cold stress at the porcelain's nodes, and the core's greatest pull, MPa."""
        walled, filling, lasting = self.walled, self.filling, self.state.lasting
        shear, bulk = filling.value("shear_MPa"), filling.value("bulk_MPa")
        coarse = self.body if self.state.all_set else None  # its last factors are then those of the solid
        body = TenNode(walled.nodes_mm, walled.tets, shear_MPa=shear, bulk_MPa=bulk, coarse=coarse)
        moved = body.displacement_mm(stress_MPa(lasting, shear, bulk), tolerance=1e-3)
        strain = body.strain_at_corners(moved).mean(axis=1) - lasting
        means = stress_MPa(strain, shear, bulk)
        glassy = filling.glassy
        nodes = (self.to_nodes @ means[glassy].reshape(-1, 9)).reshape(-1, 3, 3)
        core = np.linalg.eigvalsh(means[~glassy])[:, 2] if (~glassy).any() else np.zeros(1)
        return nodes, float(core.max())

    def finish(self) -> None:
        """To room temperature all through."""
        self.degC = np.full_like(self.degC, ROOM_DEGC)
        self.time_s += _LAST_S
        self._remember(self._in_cells(), _LAST_S)
        if not self.state.begun:
            raise BadSum("the porcelain never sets on this way down; check its viscosity and the cooling")
