"""overbuild: the green shape that fires to the wanted one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from firstbake.errors import BadSum
from firstbake.fem.carry import Carrier, carrier_of
from firstbake.fem.element import NodeAveraged
from firstbake.fem.fire import Cancelled, Fired, Progress, Run, Start, densities_of
from firstbake.fem.law import film_thickness_ratio
from firstbake.fem.loads import Loads
from firstbake.fem.margin import RIM_MM
from firstbake.fem.solver import SolverMaker
from firstbake.fem.tetrahedra import volumes_and_gradients, volumes_mm3
from firstbake.fem.unfold import unfolded
from firstbake.fem.veneer import VeneerMesh
from firstbake.mesh import Floats

_AT_END = 0.3  # share of a correction made at the very end of the mesh (chosen by trial)
_MOST_SWEEPS = 8
INSIDE_UM = 20.0  # miss of the nodes inside at which the sweeps may stop: powders meet there (chosen here)
_PART = 99.0  # per cent of the contour nodes that the residual speaks of
_ON_MM = 0.002  # nodes farther from the contour belong to the margin's end face
_STEPS = (3,)  # of every sweep


@dataclass(frozen=True, eq=False)
class Overbuilt:
    """A green body that fires to the wanted shape.

    wanted          : the mesh in its wanted (fired) shape
    green_nodes_mm  : (n, 3) green place of every node, mm
    residual_um     : distance that 99 of 100 fired contour nodes keep from the wanted contour, um, the last
                      0.3 mm of the mesh at the margin left out; NaN when not fired yet
    worst_um, rms_um : greatest and root mean square of the same
    node_miss_um    : greatest distance from any fired to its wanted node, along the surface and inside
        too, um
    inside_um       : what 99 of 100 nodes of the whole mesh, the same rim left out, keep from their place, um
    sweeps, solves  : forward firings, and linear systems solved
    fired           : the last forward firing, or None in a quick answer
    film_growth     : growth of porcelain too thin to mesh (fired to green thickness, less 1)
    error_estimate_um : what the size of the elements does to the green contour, um, or None when not asked
    """

    wanted: VeneerMesh
    green_nodes_mm: Floats
    residual_um: float
    worst_um: float
    rms_um: float
    node_miss_um: float
    sweeps: int
    solves: int
    fired: Fired | None
    film_growth: float
    error_estimate_um: float | None = None
    inside_um: float = float("nan")

    @property
    def growth_mm(self) -> Floats:
        """(n, 3) from the wanted to the green place of every node, mm."""
        return np.asarray(self.green_nodes_mm - self.wanted.nodes_mm)

    def green_of(self, points_mm: Floats, *, carrier: Carrier | None = None) -> Floats:
        """(p, 3) green places of points given in the wanted shape: contour vertices, cut-back vertices.

        carrier : from carrier_of(wanted, points_mm), to save finding them again
        """
        found = carrier if carrier is not None else carrier_of(self.wanted, points_mm)
        return np.asarray(points_mm + found.displaced(self.growth_mm, film_growth=self.film_growth))


def overbuild(wanted: VeneerMesh, **settings: object) -> Overbuilt:
    """The last and best of overbuilt_in_sweeps(); same settings."""
    return list(overbuilt_in_sweeps(wanted, **settings))[-1]  # type: ignore[arg-type]


def overbuilt_in_sweeps(
    wanted: VeneerMesh,
    *,
    green_density: ArrayLike,
    end_density: float,
    tolerance_mm: float = 0.01,
    steps: Sequence[int] = _STEPS,
    loads: Loads | None = None,
    slide: bool = False,
    dense_at: float | None = None,
    solver: SolverMaker | None = None,
    progress: Progress | None = None,
) -> Iterator[Overbuilt]:
    """Green shapes, better and better: first the quick answer of one reverse step, then one for each sweep.

    green_density : one number, (e,) or (n,), of the powder that lies there in the wanted shape
    end_density   : mean density after firing
    tolerance_mm  : residual (see Overbuilt) to stop at, at the last count of steps
    steps         : steps of the firings, sweep by sweep; the last count goes on
    dense_at      : as in fire()
    progress      : told the share done; answers False to stop
    Each sweep fires the green nodes X and corrects them by F^-1 (wanted - fired), with F the local
    deformation
    from green to fired averaged round each node. Where that turns an element over, the motion is evened out
    round it; later sweeps put right what that costs. A sweep of as many steps as the one before takes the
    starts of its steps from there (Run.known), which halves its price.
    The sweeps stop when the contour keeps the tolerance and the nodes inside keep 0.02 mm.
    raises        : BadSum when eight sweeps do not bring the contour within the tolerance, or it is stopped;
                    inside_um of the last result tells when only the inside has not settled
    """
    held, turns = wanted.holds(slide=slide)
    element = NodeAveraged(wanted.nodes_mm, wanted.tets, held, turns=turns, brake=wanted.brake, solver=solver)
    densities = densities_of(wanted, green_density)
    mean = float((volumes_mm3(wanted.nodes_mm, wanted.tets) * densities).sum() / wanted.volume_mm3)
    growth = 1 / film_thickness_ratio(mean, end_density) - 1
    closed_at = 0.0 if dense_at is None else 1 - dense_at
    green = _one_step_back(wanted, element, densities, end_density=end_density, closed_at=closed_at)
    solves = 2
    unknown = float("nan")
    yield Overbuilt(wanted, green, unknown, unknown, unknown, unknown, 0, solves, None, growth)
    most = np.ones(len(green)) if wanted.end_mm is None else np.clip(wanted.end_mm / RIM_MM, _AT_END, 1.0)
    damping, last = most.copy(), np.full(len(green), np.inf)
    starts: list[Start] = []
    judged = _Judged(wanted)
    for sweep in range(_MOST_SWEEPS):
        count = steps[min(sweep, len(steps) - 1)]
        masses = element.masses_mm3(green, densities)
        run = Run(wanted, element, masses, closed_at=closed_at, loads=loads)
        run.known = starts
        nodes = run.shrink(green, volume_mm3=float(masses.sum()) / end_density, steps=count)
        solves, starts = solves + run.solves, run.starts
        miss = wanted.nodes_mm - nodes
        far = np.linalg.norm(miss, axis=1)
        fired = run.fired(nodes)
        off = judged.off_mm(nodes)
        worst = float(np.percentile(off, _PART))
        known = _judged(wanted, green, fired, off, sweep=sweep + 1, solves=solves, growth=growth)
        known = replace(known, inside_um=float(np.percentile(far[most == 1.0], _PART)) * 1e3)
        yield known
        if worst <= tolerance_mm and known.inside_um <= INSIDE_UM and count == steps[-1]:
            return
        damping = np.where(far > last, 0.5 * damping, np.minimum(most, 1.3 * damping))
        last = far
        green = _corrected(wanted, element, green, fired=nodes, damping=damping)
        if progress is not None and not progress("overbuilding", min(1.0, tolerance_mm / worst)):
            raise Cancelled("the overbuild was stopped")
    if worst > tolerance_mm:
        raise BadSum(
            f"the green shape still misses by {worst:.3f} mm after {_MOST_SWEEPS} sweeps; mesh it finer"
        )


def _judged(
    wanted: VeneerMesh,
    green: Floats,
    fired: Fired,
    off_mm: Floats,
    *,
    sweep: int,
    solves: int,
    growth: float,
) -> Overbuilt:
    miss = np.linalg.norm(fired.nodes_mm - wanted.nodes_mm, axis=1)
    return Overbuilt(
        wanted=wanted,
        green_nodes_mm=green,
        residual_um=float(np.percentile(off_mm, _PART)) * 1e3,
        worst_um=float(off_mm.max()) * 1e3,
        rms_um=float(np.sqrt((off_mm**2).mean())) * 1e3,
        node_miss_um=float(miss.max()) * 1e3,
        sweeps=sweep,
        solves=solves,
        fired=fired,
        film_growth=growth,
    )


def _one_step_back(
    wanted: VeneerMesh, element: NodeAveraged, densities: Floats, *, end_density: float, closed_at: float
) -> Floats:
    """(n, 3) green nodes from one midpoint step backward in the logarithm of the volume.

    The end porosity is taken as even, which is why this is a first answer only.
    """
    nodes = wanted.nodes_mm
    volumes = volumes_mm3(nodes, wanted.tets)
    shares = np.full(len(densities), end_density)
    if closed_at > 0:
        shares = np.maximum(shares, densities)
    masses = element.masses_mm3(nodes, shares)
    stride = float(np.log((volumes * shares / densities).sum() / volumes.sum()))

    def pace(places: Floats) -> Floats:
        motion = element.motion(places, masses, closed_at=closed_at)
        whole = float(volumes_mm3(places, wanted.tets).sum())
        return np.asarray(motion.velocity_mm * (whole / motion.volume_rate_mm3))

    middle = unfolded(nodes, nodes + 0.5 * stride * pace(nodes), wanted.tets, wanted.bonded, least=0.1)
    return unfolded(nodes, nodes + stride * pace(middle), wanted.tets, wanted.bonded, least=0.1)


class _Judged:
    """Distance of fired contour nodes from the wanted contour."""

    def __init__(self, wanted: VeneerMesh) -> None:
        on_contour = (
            np.ones(len(wanted.nodes_mm), dtype=bool) if wanted.on_contour is None else wanted.on_contour
        )
        self.rows = np.flatnonzero(on_contour & ~wanted.bonded)
        self.contour = None if wanted.contour is None else wanted.contour.probe
        if self.contour is not None:
            there = self.contour.nearest(wanted.nodes_mm[self.rows]).distance_mm < _ON_MM
            self.rows = self.rows[there]
        if wanted.end_mm is not None:
            self.rows = self.rows[wanted.end_mm[self.rows] > RIM_MM]
        if len(self.rows) == 0:
            raise BadSum("no node of the mesh lies on the wanted contour; mesh it again with another step")
        self.wanted_mm = wanted.nodes_mm[self.rows]

    def off_mm(self, nodes_mm: Floats) -> Floats:
        """(k,) mm; distance from node to node when the mesh was not made from surfaces."""
        if self.contour is None:
            return np.asarray(np.linalg.norm(nodes_mm[self.rows] - self.wanted_mm, axis=1))
        return self.contour.nearest(nodes_mm[self.rows]).distance_mm


def _corrected(
    wanted: VeneerMesh, element: NodeAveraged, green: Floats, *, fired: Floats, damping: Floats
) -> Floats:
    """(n, 3) better green nodes: the miss, mapped back through the local deformation, is added.

    damping : (n,) share of the correction made, less than 1 where the miss has grown
    """
    volumes, gradients = volumes_and_gradients(green, wanted.tets)
    each = np.einsum("e,eai,eaj->eij", volumes, fired[wanted.tets], gradients)
    total = np.zeros((len(green), 3, 3))
    for i in range(3):
        for j in range(3):
            total[:, i, j] = np.bincount(
                wanted.tets.ravel(), np.repeat(each[:, i, j], 4), minlength=len(green)
            )
    forward = total / (4 * element.volumes_mm3(green))[:, None, None]
    miss = wanted.nodes_mm - fired
    step = np.linalg.solve(forward, miss[:, :, None])[:, :, 0]
    most = 2.5 * np.linalg.norm(miss, axis=1)  # no porcelain shrinks to less than 1 / 2.5 of a length
    step *= (damping * np.minimum(1.0, most / np.maximum(np.linalg.norm(step, axis=1), 1e-30)))[:, None]
    return unfolded(wanted.nodes_mm, green + step, wanted.tets, wanted.bonded, least=0.01)
