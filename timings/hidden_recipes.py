"""Hidden-recipe experiment: 40 secret layerings of 12 invented powders, found again by the search.

Three zones of 0.8, 1.2 and 1.5 mm over an opaque ground of 0.40 share one of 60 sets of powders. Counts how
often the true set ranks first: by the order the program uses, by nearness alone, by robust difference alone.

Run: python timings/hidden_recipes.py
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "recipe"))
from hidden import END, GEOMETRY, ROOMS_MM, ZONES, secret, sixty_sets

from firstbake.recipe import Asked, Ranked, in_order, reaches, search

OUT_OF_REACH = 40


def nearness(ranked: Ranked) -> float:
    return float(np.sqrt(np.mean([fit.nearest_delta_e00**2 for fit in ranked.zones])))


def main() -> None:
    sets = sixty_sets()
    for first_seed in (0, 100):
        for noise in (0.0, 0.15):
            ordered, near, robust, worst = 0, 0, 0, []
            for seed in range(first_seed, first_seed + 40):
                true, zones = secret(seed, sets, noise=noise)
                found = search(zones, sets, geometry=GEOMETRY)
                best = in_order(found)[0]
                ordered += best.powders is sets[true]
                near += min(found, key=nearness).powders is sets[true]
                robust += found[0].powders is sets[true]
                worst.append(best.worst_delta_e00)
            print(
                f"seeds {first_seed} to {first_seed + 39}, target noise {noise}: true set first {ordered} of "
                f"40 (by nearness alone {near}, by robust difference alone {robust}); worst zone of the "
                f"first set {max(worst):.2f}, median {np.median(worst):.2f}"
            )
    draw, told = np.random.default_rng(7), 0
    for _ in range(OUT_OF_REACH):
        target = (float(draw.uniform(86, 95)), float(draw.uniform(-2, 4)), float(draw.uniform(5, 25)))
        if draw.random() < 0.5:
            target = (float(draw.uniform(55, 62)), float(draw.uniform(-2, 4)), float(draw.uniform(5, 18)))
        zones = [Asked(zone, target, room, END) for zone, room in zip(ZONES, ROOMS_MM, strict=True)]
        told += any(reaches(ranked) for ranked in search(zones, sets, geometry=GEOMETRY))
    print(f"targets lighter or darker than any of the powders told as reached: {told} of {OUT_OF_REACH}")


if __name__ == "__main__":
    main()
