"""fire: what a green body becomes."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from firstbake.errors import BadSum
from firstbake.fem.body import MOST_TURNED, Body, turned_share
from firstbake.fem.element import Motion, NodeAveraged
from firstbake.fem.law import Glass
from firstbake.fem.loads import Loads
from firstbake.fem.solver import SolverMaker
from firstbake.fem.tetrahedra import volumes_mm3
from firstbake.mesh import Floats

Progress = Callable[[str, float], bool]
"""Told (what is being done, share done 0 to 1); answers False to stop."""


@dataclass(frozen=True)
class Hold:
    """Time at temperature after the end density is reached.

    seconds_s : s      viscosity_Pa_s : of the glass at that temperature      steps : steps of the sum
    """

    seconds_s: float
    viscosity_Pa_s: float
    steps: int = 8


@dataclass(frozen=True, eq=False)
class Fired:
    """A fired body.

    nodes_mm        : (n, 3) mm           displacement_mm : (n, 3) from green to fired, mm
    porosity        : (n,) 0 to 1         mass_mm3        : (n,) solid volume of each node, as before firing
    tension         : (n,) greatest mean stress on the way in units of the sintering stress, greater than 0 in
                      tension: a relative risk of tearing, no strength is known
    tau             : scaled time to the end density      end_density : mean density of the whole body
    solves          : linear systems solved
    """

    nodes_mm: Floats
    displacement_mm: Floats
    porosity: Floats
    mass_mm3: Floats
    tension: Floats
    tau: float
    end_density: float
    solves: int


class Cancelled(BadSum):
    """The person stopped the sum."""


def densities_of(body: Body, density: ArrayLike) -> Floats:
    """(e,) green density of each tetrahedron from one number, (e,) or (n,) node values.

    raises : BadSum for another shape, or densities not between 0.1 and 1
    """
    given = np.asarray(density, dtype=np.float64)
    if given.ndim == 0:
        found = np.full(len(body.tets), float(given))
    elif given.shape == (len(body.tets),):
        found = given
    elif given.shape == (len(body.nodes_mm),):
        found = given[body.tets].mean(axis=1)
    else:
        raise BadSum(
            f"green density has shape {given.shape}; give one number, one a node or one a tetrahedron"
        )
    if not ((found > 0.1) & (found < 1.0)).all():
        raise BadSum("green density must lie between 0.1 and 1 of the solid")
    return found


def fire(
    body: Body,
    *,
    green_density: ArrayLike,
    end_density: float,
    steps: int = 4,
    dense_at: float | None = None,
    loads: Loads | None = None,
    hold: Hold | None = None,
    slide: bool = False,
    solver: SolverMaker | None = None,
    progress: Progress | None = None,
) -> Fired:
    """Fire a green body to a mean density.

    green_density : one number, (e,) or (n,); several powders in one body have several densities. Porcelain
        fired
                    before goes in with the density it has.
    end_density   : solid over whole volume of the body at the end
    dense_at      : density at which porcelain shrinks no further (closed pores); needed when dense
        porcelain is
                    fired again under an add-on
    loads, hold   : weight, surface tension, and time at temperature afterwards
    slide         : porcelain slides on a foil instead of being bonded
    progress      : told the share done; answers False to stop
    The steps are midpoint steps in the logarithm of the volume (step_shares); four give the shape to 4 um
    on a crown.
    raises        : BadSum when it is denser than that already, cannot get there, or is stopped
    """
    held, turns = body.holds(slide=slide)
    element = NodeAveraged(body.nodes_mm, body.tets, held, turns=turns, brake=body.brake, solver=solver)
    masses = element.masses_mm3(body.nodes_mm, densities_of(body, green_density))
    run = Run(body, element, masses, closed_at=0.0 if dense_at is None else 1 - dense_at, loads=loads)
    run.progress = progress
    nodes = run.shrink(body.nodes_mm, volume_mm3=float(masses.sum()) / end_density, steps=steps)
    if hold is not None:
        nodes = run.wait(nodes, hold, loads.glass if loads is not None else Glass())
    return run.fired(nodes)


def step_shares(steps: int) -> Floats:
    """(steps,) shares of the change in ln volume, shorter toward the end, where the pores close.

    Squared grading: at four steps a third of the error of even ones on a thick ball shell (measured).
    """
    left = (1 - np.arange(steps + 1) / steps) ** 2
    return np.asarray(left[:-1] - left[1:])


@dataclass(frozen=True, eq=False)
class Start:
    """What is known at the start of a step: (n, 3) velocities per unit of ln volume, and (n,) mean stress."""

    rate_mm: Floats
    tension: Floats


class Run:
    """One firing of one body: its element, its masses and what has been met on the way.

    Start and end of a run may differ from the body's own nodes: overbuild() fires many green shapes of one
    body. `known` are the starts of a run of as many steps from almost the same nodes, used in place of its
    own: they only place the middle of each step, so an error of them counts less by an order of the step.
    """

    def __init__(
        self, body: Body, element: NodeAveraged, masses_mm3: Floats, *, closed_at: float, loads: Loads | None
    ) -> None:
        self.body, self.element, self.masses_mm3 = body, element, masses_mm3
        self.closed_at, self.loads = closed_at, loads
        self.progress: Progress | None = None
        self.start_mm = body.nodes_mm
        self.tension = np.full(len(body.nodes_mm), -np.inf)
        self.tau, self.solves = 0.0, 0
        self.starts: list[Start] = []
        self.known: list[Start] = []

    def motion(self, nodes_mm: Floats) -> Motion:
        """Velocities of one state."""
        load = None
        if self.loads is not None:
            load = self.loads.on_nodes_mm2(nodes_mm, self.masses_mm3, self.body.free_faces)
        self.solves += 1
        return self.element.motion(nodes_mm, self.masses_mm3, closed_at=self.closed_at, load_mm2=load)

    def shrink(self, nodes_mm: Floats, *, volume_mm3: float, steps: int) -> Floats:
        """(n, 3) nodes at the wanted volume, by midpoint steps in the logarithm of the volume.

        What the steps miss of the volume (order of the step squared) is made up along the last velocity.
        raises : BadSum when the volume is already smaller, or the body stops to shrink before it is reached
        """
        self.start_mm = nodes_mm
        before = float(volumes_mm3(nodes_mm, self.body.tets).sum())
        if before < volume_mm3 * (1 - 1e-9):
            raise BadSum("the green porcelain is denser than the end density asked for; ask for a higher one")
        strides = (np.log(volume_mm3) - np.log(before)) * step_shares(steps)
        for step, stride in enumerate(strides):
            start = self.known[step] if len(self.known) == steps else self._start(nodes_mm)
            self.starts.append(start)
            nodes_mm, rate, pace = self._advance(nodes_mm, float(stride), start, halvings=3)
            self._tell("firing", (step + 1) / steps)
        for _ in range(3):
            rest = np.log(volume_mm3 / float(volumes_mm3(nodes_mm, self.body.tets).sum()))
            self.tau += float(rest / pace)
            nodes_mm = nodes_mm + rest * rate
        return nodes_mm

    def _start(self, nodes_mm: Floats) -> "Start":
        rate, _, tension = self._pace(nodes_mm)
        return Start(rate, tension)

    def _advance(
        self, nodes_mm: Floats, stride: float, start: "Start", *, halvings: int
    ) -> tuple[Floats, Floats, float]:
        """One midpoint step, in halves where it would turn elements over; nodes, last velocities, last
        pace."""
        half = nodes_mm + 0.5 * stride * start.rate_mm
        if self._sound(half):
            rate, pace, tension = self._pace(half)
            after = nodes_mm + stride * rate
            if self._sound(after):
                self.tau += float(stride / pace)
                self.tension = np.maximum(self.tension, np.maximum(start.tension, tension))
                return after, rate, pace
        if halvings == 0:
            raise BadSum("elements turn over in firing; mesh the porcelain again with another step")
        nodes_mm, _, _ = self._advance(nodes_mm, 0.5 * stride, start, halvings=halvings - 1)
        return self._advance(nodes_mm, 0.5 * stride, self._start(nodes_mm), halvings=halvings - 1)

    def _sound(self, nodes_mm: Floats) -> bool:
        return turned_share(volumes_mm3(nodes_mm, self.body.tets)) <= MOST_TURNED

    def wait(self, nodes_mm: Floats, hold: Hold, glass: Glass) -> Floats:
        """(n, 3) nodes after a hold, by midpoint steps in time."""
        stride = glass.tau_of(hold.seconds_s, hold.viscosity_Pa_s) / hold.steps
        for step in range(hold.steps):
            half = nodes_mm + 0.5 * stride * self.motion(nodes_mm).velocity_mm
            nodes_mm = nodes_mm + stride * self.motion(half).velocity_mm
            self.tau += stride
            self._tell("holding", (step + 1) / hold.steps)
        return nodes_mm

    def fired(self, nodes_mm: Floats) -> Fired:
        """The result with these nodes at its end."""
        volume = float(volumes_mm3(nodes_mm, self.body.tets).sum())
        return Fired(
            nodes_mm=nodes_mm,
            displacement_mm=nodes_mm - self.start_mm,
            porosity=self.element.porosity(nodes_mm, self.masses_mm3),
            mass_mm3=self.masses_mm3,
            tension=self.tension,
            tau=self.tau,
            end_density=float(self.masses_mm3.sum()) / volume,
            solves=self.solves,
        )

    def _pace(self, nodes_mm: Floats) -> tuple[Floats, float, Floats]:
        """Velocities per unit of ln volume, d ln volume / d tau, and mean stress."""
        motion = self.motion(nodes_mm)
        volume = float(volumes_mm3(nodes_mm, self.body.tets).sum())
        pace = motion.volume_rate_mm3 / volume
        if not pace < -1e-4:  # a free body at 2 % porosity has -0.02
            raise BadSum("the porcelain stops to shrink before the end density; ask for a lower one")
        return motion.velocity_mm / pace, pace, motion.tension

    def _tell(self, what: str, share: float) -> None:
        if self.progress is not None and not self.progress(what, share):
            raise Cancelled("the firing sum was stopped")
