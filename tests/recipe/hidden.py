"""Recipes made in secret from the invented powders, for the search to find again."""

import sys
from itertools import product
from pathlib import Path

import numpy as np

from firstbake.colour import LowerEnd
from firstbake.recipe import SLOTS, Asked, Ingredient, PowderSet
from firstbake.recipe.batch import batch_of, labs

sys.path.insert(0, str(Path(__file__).parents[1] / "colour"))
from invented_powders import NUMBERS, optics_of

GEOMETRY = "d/8 specular excluded"
ROOMS_MM = (0.8, 1.2, 1.5)
ZONES = ("cervical", "body", "incisal")
LIMITS = {
    "opaque": (0.10, 0.25, False),
    "dentine": (0.30, 5.0, False),
    "enamel": (0.20, 0.90, False),
    "transparent": (0.05, 0.40, True),
}
END = LowerEnd(np.full(31, 0.40), 1.5)


def ingredient(name: str) -> Ingredient:
    role = name.split()[0]
    least, most, may_miss = LIMITS[role]
    return Ingredient(name, role, optics_of(name), least, most, may_miss)


def sixty_sets() -> list[PowderSet]:
    known = [ingredient(name) for name in NUMBERS]
    by_role = [[i for i in known if i.role == role] for role in LIMITS]
    return [PowderSet(chosen) for chosen in product(*by_role)]


def secret(seed: int, sets: list[PowderSet], *, noise: float = 0.0) -> tuple[int, list[Asked]]:
    """(number of the true set, the three zones with the colours of a secret layering of it)."""
    draw = np.random.default_rng(seed)
    true = int(draw.integers(len(sets)))
    zones = []
    for zone, room in zip(ZONES, ROOMS_MM, strict=True):
        while True:
            opaque, enamel, clear = draw.uniform(0.1, 0.25), draw.uniform(0.2, 0.9), draw.uniform(0.05, 0.4)
            if room - opaque - enamel - clear >= 0.3:
                break
        asked = Asked(zone, (0.0, 0.0, 0.0), room, END)
        slots = np.zeros((1, len(SLOTS)))
        slots[0, [1, 3, 4, 5]] = opaque, room - opaque - enamel - clear, enamel, clear
        lab = labs(batch_of([(asked, sets[true])], geometry=GEOMETRY), slots)[0]
        lab = lab + draw.normal(0.0, noise, 3) if noise else lab
        zones.append(Asked(zone, tuple(float(v) for v in lab), room, END))
    return true, zones
