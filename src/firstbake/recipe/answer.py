"""The answer: the chosen recipe zone by zone, what limits it, and the other ways."""

import math
from dataclasses import dataclass, field

from firstbake.powder import Powder

Lab = tuple[float, float, float]


@dataclass(frozen=True)
class Limit:
    """One thing that keeps a zone from its target, found by solving again without it.

    what      : "room", "stump", "core", "powders", "lightness" or "chroma"
    delta_e00 : what could be reached without it      words : the same in a sentence
    """

    what: str
    delta_e00: float
    words: str


@dataclass(frozen=True, eq=False)
class ZoneRecipe:
    """One zone of the recipe.

    layers_mm : (powder, mm) from the core outward; at a free edge from back to front, enamel twice
    room_mm   : their sum            lab, target : CIELAB, D65, 2 degrees
    delta_e00, robust_delta_e00 : CIEDE2000 to the target as planned, and expected when every inner boundary
                scatters by 0.05 mm within the same outer form
    doubt_delta_e00 : one standard deviation of the predicted colour, CIEDE2000; optics_doubt says, by powder
                or core, what the part of it that comes from their optics rests on
    target_doubt_delta_e00 : the same of the target's own reading, 0 where none is known
    verdict   : "reached", "near" or "not reached" (rank.verdict_of); reached : True for the first alone
    stump_delta_e00 : how much a dark stump shows; None where none was ordered or none shows
    words     : the difference in words       free : no core behind it
    limits, choices : why it is not reached and what can be done; empty where it is
    """

    zone: str
    layers_mm: tuple[tuple[str, float], ...]
    room_mm: float
    lab: Lab
    target: Lab
    delta_e00: float
    robust_delta_e00: float
    doubt_delta_e00: float
    verdict: str
    reached: bool
    stump_delta_e00: float | None
    words: str
    free: bool
    limits: tuple[Limit, ...]
    choices: tuple[str, ...]
    target_doubt_delta_e00: float = 0.0
    optics_doubt: dict[str, str] = field(default_factory=dict)

    @property
    def difference_doubt_delta_e00(self) -> float:
        """One standard deviation of the difference: of prediction and target, which are independent."""
        return math.hypot(self.doubt_delta_e00, self.target_doubt_delta_e00)

    @property
    def band_delta_e00(self) -> tuple[float, float]:
        """The difference less and more one standard deviation of its doubt, at least 0."""
        doubt = self.difference_doubt_delta_e00
        return max(self.delta_e00 - doubt, 0.0), self.delta_e00 + doubt


@dataclass(frozen=True)
class Portion:
    """What one powder comes to: grams to weigh with slab waste, and its price where the card has one."""

    powder: str
    role: str
    powder_g: float
    cost: float | None
    currency: str


@dataclass(frozen=True, eq=False)
class Alternative:
    """Another set of powders.

    zones     : (zone, layers, CIEDE2000) of each
    worst_delta_e00, robust_delta_e00 : of the zone furthest off; root mean square of the expected ones
    reached   : True when every zone is
    """

    powders: tuple[str, ...]
    zones: tuple[tuple[str, tuple[tuple[str, float], ...], float], ...]
    worst_delta_e00: float
    robust_delta_e00: float
    reached: bool
    portions: tuple[Portion, ...]


@dataclass(frozen=True, eq=False)
class CrownRecipe:
    """The recipe of one crown.

    powders      : the chosen ones, from the core outward      zones : those with a target, cervical first
    alternatives : other sets, best first, the chosen one left out       tried : sets that fit the room
    notes        : what was left out, in sentences
    """

    powders: tuple[Powder, ...]
    zones: tuple[ZoneRecipe, ...]
    robust_delta_e00: float
    portions: tuple[Portion, ...]
    alternatives: tuple[Alternative, ...]
    tried: int
    geometry: str
    notes: tuple[str, ...]

    @property
    def reached(self) -> bool:
        """Whether every zone is."""
        return all(zone.reached for zone in self.zones)
