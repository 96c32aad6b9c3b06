"""How long the recipe search takes: 60 sets of powders, three zones together.

Baseline in the same run: one stack after the other with colour.reflectance_within and delta_e00, on a sample
of the same grid, scaled to all of it; only the grid, without polish or robustness.

Run: python timings/recipe.py
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "recipe"))
from hidden import GEOMETRY, secret, sixty_sets

from firstbake.colour import delta_e00, lab_from_reflectance, outer_face, reflectance_within, stack_of
from firstbake.recipe import SLOTS, search
from firstbake.recipe.grid import Tables, choices_of

REPEATS, SAMPLE = 7, 1500


def main() -> None:
    sets = sixty_sets()
    _, zones = secret(0, sets, noise=0.15)
    search(zones, sets, geometry=GEOMETRY)
    taken = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        search(zones, sets, geometry=GEOMETRY)
        taken.append(time.perf_counter() - start)
    ours = min(taken)
    tables = Tables()
    stacks = [
        (asked, powders, row)
        for asked in zones
        for powders in sets
        for row in choices_of(asked, powders, tables).slots_mm
    ]
    chosen = np.random.default_rng(0).choice(len(stacks), SAMPLE, replace=False)
    start = time.perf_counter()
    for number in chosen:
        asked, powders, row = stacks[number]
        stack = stack_of([i.optics for i in powders.ingredients], asked.end)
        within = reflectance_within(stack, row[[SLOTS.index(i.role) for i in powders.ingredients]])
        delta_e00(lab_from_reflectance(outer_face(1.5, GEOMETRY).seen(within)), asked.target)
    plain = (time.perf_counter() - start) * len(stacks) / SAMPLE
    print(f"60 sets, 3 zones, {len(stacks)} stacks on the grid")
    print(f"search with polish and robustness: {ours:.3f} s (median {np.median(taken):.3f} s; goal 0.3 s)")
    ratio = plain / ours
    print(f"stack after stack, grid alone, from a sample of {SAMPLE}: {plain:.1f} s, {ratio:.0f} times")


if __name__ == "__main__":
    main()
