"""Time from a moved slider to the new cut-back, against asking all distances again at every move.

Run: python timings/cut_back.py   (prints milliseconds, least of several runs, and the ratio)
Both ways are measured in the same run on the same crown, grid and rules.
"""

import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from firstbake.case import Limits
from firstbake.layering import CutBackField, prepare_cut_back, usual_cut_back
from firstbake.mesh import nearest, signed_distance
from firstbake.room import Room
from firstbake.teeth import Tooth, demo_crown, find_frame

STEP_MM = 0.2
GOAL_MS = 100.0


def least_ms(work: Callable[[], object], runs: int) -> float:
    """Least wall time of several runs, ms."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - start))
    return min(times)


def main() -> None:
    """Print the table."""
    crown = demo_crown(triangles=40_000)
    contour, core = crown.contour, crown.core
    frame = find_frame(crown.tooth, contour=contour, core=core, neighbours=(), landmarks=crown.landmarks)
    found = signed_distance(core, contour.vertices_mm)
    ring = contour.vertices_mm[contour.loops[0]]
    to_ring = np.linalg.norm(contour.vertices_mm[:, None] - ring[None, ::8], axis=2).min(axis=1)
    count = len(contour.vertices_mm)
    room = Room(
        thickness_mm=np.maximum(found.distance_mm, 0.0),
        along_normal_mm=np.full(count, np.nan),
        foot_mm=found.foot_mm,
        margin_mm=to_ring,
        veneered=np.ones(count, dtype=bool),
        volume_mm3=1.0,
        thin=(),
        unsupported=(),
        contacts=(),
        clearance=(),
    )
    rules = usual_cut_back(Tooth("11"), Limits(0.5, 2.0, 0.25, 0.15, 1.0))
    moved = replace(rules, middle_mm=rules.middle_mm + 0.1)
    field = prepare_cut_back(contour, core, frame, room=room, step_mm=STEP_MM)

    def asked_again() -> object:
        fresh: CutBackField = prepare_cut_back(contour, core, frame, room=room, step_mm=STEP_MM)
        return fresh.recompute(moved)

    slider = least_ms(lambda: field.recompute(moved), 10)
    again = least_ms(asked_again, 3)
    every_node = least_ms(
        lambda: (nearest(contour, field.grid.points_mm), nearest(core, field.grid.points_mm)), 3
    )
    export = least_ms(lambda: field.export(moved), 3)
    print(f"contour {len(contour.faces)} faces, grid {field.grid.counts} at {STEP_MM} mm")
    print(f"slider to new cut-back              {slider:8.1f} ms   (goal under {GOAL_MS:.0f} ms)")
    print(f"distances asked again at each move  {again:8.1f} ms   ratio {again / slider:.1f}")
    print(f"... without the narrow band         {every_node:8.1f} ms   ratio {every_node / slider:.1f}")
    print(f"export with exact vertices          {export:8.1f} ms")


if __name__ == "__main__":
    main()
