"""Order of the sets, which of them to take, and when a target counts as reached."""

from collections.abc import Sequence

from firstbake.colour import ACCEPTABLE_DELTA_E00, PERCEPTIBLE_DELTA_E00
from firstbake.recipe.search import Ranked

#: Sets that come this near to the nearest set in every zone count as equally near (chosen here: an eighth of
#: what half of observers see, and less than an instrument repeats on a tooth).
EQUAL_DELTA_E00 = 0.1

REACHED, NEAR, NOT_REACHED = "reached", "near", "not reached"


def verdict_of(delta_e00: float) -> str:
    """ "reached" below 0.8 CIEDE2000, "near" below 1.8, else "not reached".

    source : half of observers see a difference of 0.8 and would accept one of 1.8 (Paravina et al. 2015,
             J Esthet Restor Dent 27 S1:S1; figures from memory, as quoted in later reviews)
    """
    if delta_e00 <= PERCEPTIBLE_DELTA_E00:
        return REACHED
    return NEAR if delta_e00 <= ACCEPTABLE_DELTA_E00 else NOT_REACHED


def reaches(ranked: Ranked) -> bool:
    """Whether the difference stays below what half of observers see in every zone."""
    return all(verdict_of(fit.delta_e00) == REACHED for fit in ranked.zones)


def in_order(found: Sequence[Ranked]) -> tuple[Ranked, ...]:
    """The sets, best first: those as near as any, then those that reach, each by rising robust difference.

    A set is as near as any when the zone in which it falls furthest behind the nearest set of that zone does
    so by no more than EQUAL_DELTA_E00 over the set that falls behind least.
    """
    if not found:
        return ()
    zones = range(len(found[0].zones))
    nearest = [min(ranked.zones[k].nearest_delta_e00 for ranked in found) for k in zones]
    behind = [max(r.zones[k].nearest_delta_e00 - nearest[k] for k in zones) for r in found]
    least = min(behind)
    order = sorted(
        range(len(found)),
        key=lambda n: (
            behind[n] > least + EQUAL_DELTA_E00,
            not reaches(found[n]),
            found[n].robust_delta_e00,
        ),
    )
    return tuple(found[n] for n in order)


def choose_set(ordered: Sequence[Ranked]) -> Ranked:
    """The set to take: of those that reach every target the first with the fewest powders, else the first."""
    reaching = [ranked for ranked in ordered if reaches(ranked)]
    if not reaching:
        return ordered[0]
    fewest = min(len(ranked.powders.ingredients) for ranked in reaching)
    return next(ranked for ranked in reaching if len(ranked.powders.ingredients) == fewest)
