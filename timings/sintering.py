"""What the sintering sums cost: stages of a green shape, and firing against an outside library.

Run on two idle cores: python timings/sintering.py   (needs scikit-fem, a development package; some minutes)
Everything printed comes from one run on one crown. BLAS has one thread; our solver itself works in two, the
outside one (SuperLU) in one. Errors are distances between fired contours and that of a reference: straight
ten-node tetrahedra on a finer mesh. That is the outside element, so the reference does not favour ours. The
outside mesh is chosen so that its error comes out no smaller than ours, and not much larger.
"""

import os
import platform
import resource
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
from outside_p2 import OutsideP2

from firstbake.fem import (
    carrier_of,
    curved,
    film_thickness_ratio,
    fire,
    fire_quadratic,
    mesh_veneer,
    overbuilt_in_sweeps,
    solver_named,
)
from firstbake.mesh import Probe
from firstbake.teeth import Tooth, generate_crown, usual_sizes

GREEN, END = 0.6, 0.98
STEP_MM = 0.55  # of a plan
SIZES_MM = (0.8, 0.65, 0.55, 0.45, 0.4)  # for the growth of the cost
OUTSIDE_MM = 0.65
REFERENCE_MM = 0.45
CLEAR_MM = 0.3  # contour over thinner porcelain is left out
FIRING = {"green_density": GREEN, "end_density": END}


class Clock:
    """Wall and process time since the start."""

    def __init__(self) -> None:
        self.wall, self.cpu = time.perf_counter(), time.process_time()

    def read(self) -> tuple[float, float]:
        """Seconds of wall and of process time."""
        return time.perf_counter() - self.wall, time.process_time() - self.cpu


def least(work, runs=3):
    """Result, and least wall and process time of several runs, s."""
    times = []
    for _ in range(runs):
        clock = Clock()
        found = work()
        times.append(clock.read())
    return found, *np.min(times, axis=0)


def quadratic_places(mesh, edges, nodes, points_mm):
    """Fired places of contour points that lie in a ten-node mesh with middles of `edges`."""
    carrier = carrier_of(mesh, points_mm)
    keys = edges[:, 0] * len(mesh.nodes_mm) + edges[:, 1]
    moved = nodes - np.concatenate([mesh.nodes_mm, mesh.nodes_mm[edges].mean(axis=1)])
    w = carrier.weights
    places = points_mm + np.einsum("pa,pai->pi", w * (2 * w - 1), moved[carrier.corners])
    for i, j in zip(*np.triu_indices(4, 1), strict=True):
        ends = np.sort(carrier.corners[:, [i, j]], axis=1)
        middle = len(mesh.nodes_mm) + np.searchsorted(keys, ends[:, 0] * len(mesh.nodes_mm) + ends[:, 1])
        places += (4 * w[:, i] * w[:, j])[:, None] * moved[middle]
    return places


def fired_quadratic(mesh, points_mm):
    """Fired places of contour points by the package's own ten-node element."""
    cells, edges = curved(mesh.nodes_mm, mesh.tets)
    held = np.concatenate([mesh.bonded, mesh.bonded[edges].all(axis=1)])
    nodes = fire_quadratic(cells, np.repeat(held[:, None], 3, axis=1), **FIRING)
    return quadratic_places(mesh, edges, nodes, points_mm), len(nodes)


def stages(contour, core):
    """Print what a green shape costs, stage by stage; the mesh."""
    mesh, *meshing = least(lambda: mesh_veneer(contour, core, step_mm=STEP_MM))
    best = None
    for _ in range(3):
        clock, marks = Clock(), []
        for built in overbuilt_in_sweeps(mesh, **FIRING):
            marks.append((built, *clock.read()))
        best = marks if best is None or marks[-1][1] < best[-1][1] else best
    print(f"{len(contour.faces)} and {len(core.faces)} faces, {len(mesh.nodes_mm)} nodes, step {STEP_MM} mm")
    print(f"{'':34} {'wall s':>8} {'cpu s':>8}")
    print(f"{'meshing':34} {meshing[0]:8.2f} {meshing[1]:8.2f}")
    for built, wall, cpu in best:
        told = (
            "quick answer"
            if built.fired is None
            else f"sweep {built.sweeps}, {built.residual_um:.1f} um left"
        )
        print(f"{f'overbuild, {told}':34} {wall:8.2f} {cpu:8.2f}   {built.solves} solves")
    print(
        f"{'two surfaces to green shape':34} {meshing[0] + best[-1][1]:8.2f} {meshing[1] + best[-1][2]:8.2f}"
    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"memory of the process at its peak so far: {peak:.0f} MB")
    return mesh


def against_outside(mesh, contour, core):
    """Print errors and times of firing, ours and the outside library's."""
    points = contour.vertices_mm
    rows = np.flatnonzero(Probe(core).nearest(points).distance_mm > CLEAR_MM)[::3]
    reference, count = fired_quadratic(mesh_veneer(contour, core, step_mm=REFERENCE_MM), points)
    fired_contour = Probe(contour.moved(reference))

    def errors(places):
        off = fired_contour.nearest(places[rows]).distance_mm * 1e3
        return f"{np.sqrt((off**2).mean()):7.1f} {np.percentile(off, 99):7.1f} {off.max():7.1f}"

    fired, wall, cpu = least(lambda: fire(mesh, **FIRING))
    _, two_wall, two_cpu = least(lambda: fire(mesh, steps=1, **FIRING))
    by_superlu = solver_named("superlu")
    _, lu_wall, lu_cpu = least(lambda: fire(mesh, steps=1, solver=by_superlu, **FIRING), 1)
    growth = film_thickness_ratio(GREEN, END) - 1
    ours = points + carrier_of(mesh, points).displaced(fired.displacement_mm, film_growth=growth)
    print(f"\nfiring, 8 solves; error against ten-node tetrahedra of step {REFERENCE_MM} mm, {count} nodes")
    print(f"{'':34} {'nodes':>7} {'rms um':>7} {'99 %':>7} {'most':>7} {'wall s':>8} {'cpu s':>8}")
    print(f"{'ours':34} {len(mesh.nodes_mm):7} {errors(ours)} {wall:8.2f} {cpu:8.2f}")
    coarse = mesh_veneer(contour, core, step_mm=OUTSIDE_MM)
    like, like_wall, like_cpu = least(lambda: fire(coarse, **FIRING))
    same = points + carrier_of(coarse, points).displaced(like.displacement_mm, film_growth=growth)
    name = f"ours, step {OUTSIDE_MM} mm"
    print(f"{name:34} {len(coarse.nodes_mm):7} {errors(same)} {like_wall:8.2f} {like_cpu:8.2f}")
    outside = OutsideP2(coarse.nodes_mm, coarse.tets, coarse.bonded)
    nodes, out_wall, out_cpu = least(lambda: outside.fire(green_density=GREEN, end_density=END), 1)
    order = np.lexsort((outside.edges.max(axis=1), outside.edges.min(axis=1)))
    nodes = np.concatenate([nodes[: len(coarse.nodes_mm)], nodes[len(coarse.nodes_mm) :][order]])
    places = quadratic_places(coarse, np.sort(outside.edges, axis=1)[order], nodes, points)
    name = f"scikit-fem P2, step {OUTSIDE_MM} mm"
    print(f"{name:34} {outside.count:7} {errors(places)} {out_wall:8.2f} {out_cpu:8.2f}")
    print(f"of that, assembling {outside.assembling_s:.1f} s and SuperLU {outside.solving_s:.1f} s")
    print(f"ratio outside over ours, step {STEP_MM} mm: wall {out_wall / wall:.1f}, cpu {out_cpu / cpu:.1f}")
    print(f"... over ours of equal step: wall {out_wall / like_wall:.1f}, cpu {out_cpu / like_cpu:.1f}")
    print(f"its SuperLU alone over all of ours: wall {outside.solving_s / wall:.1f}")
    print(f"SuperLU in place of ours, 2 solves: wall {lu_wall / two_wall:.1f}, cpu {lu_cpu / two_cpu:.1f}")


def growth_of_cost(contour, core):
    """Print firing over mesh sizes and the exponent of a straight line through the logarithms."""
    print(f"\n{'step mm':>8} {'nodes':>8} {'fire wall s':>12} {'cpu s':>8}")
    counts, walls, cpus = [], [], []
    for step in SIZES_MM:
        mesh = mesh_veneer(contour, core, step_mm=step)
        _, wall, cpu = least(lambda mesh=mesh: fire(mesh, **FIRING))
        counts.append(len(mesh.nodes_mm))
        walls.append(wall)
        cpus.append(cpu)
        print(f"{step:8} {counts[-1]:8} {wall:12.2f} {cpu:8.2f}")
    slopes = [np.polyfit(np.log(counts), np.log(times), 1)[0] for times in (walls, cpus)]
    print(f"cost grows with the nodes to the power of {slopes[0]:.2f} (wall), {slopes[1]:.2f} (cpu)")


def main() -> None:
    """Print everything."""
    threads = os.environ["OPENBLAS_NUM_THREADS"]
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores, BLAS threads {threads}{load}")
    made = generate_crown(Tooth("11"), usual_sizes(Tooth("11")), triangles=60_000)
    mesh = stages(made.contour, made.core)
    growth_of_cost(made.contour, made.core)
    against_outside(mesh, made.contour, made.core)


if __name__ == "__main__":
    main()
