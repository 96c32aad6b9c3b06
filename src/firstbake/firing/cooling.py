"""How to cool after a bake, with what the literature disagrees about."""

import math
from dataclasses import dataclass

from firstbake.firing.usual import (
    BENCH_K_PER_MIN,
    BENCH_TO_DEGC,
    SLOW_K_PER_MIN,
    SLOW_MARGIN_K,
    SLOW_TO_DEGC,
)
from firstbake.powder import CoreMaterial, Powder

_FOR_SLOW = (
    "For slow cooling: it raised fatigue life (Paula et al. 2014, doi 10.1016/j.dental.2014.10.005), and a "
    "review opens the muffle below the glass transition (Rodrigues et al. 2019, "
    "doi 10.1016/j.dental.2019.02.016)."
)
_AGAINST_SLOW = (
    "Against it: slow gave tension at the surface where fast gave compression (Al-Amleh et al. 2014, "
    "Dent Mater 30:271); slow was best only with a thick core (Tang et al., J Adv Prosthodont). "
    "The maker's word decides."
)


@dataclass(frozen=True)
class Cooling:
    """Cooling in words and numbers, and what to show beside it."""

    words: str
    K_per_min: float
    to_degC: float
    cautions: tuple[str, ...]


def cooling_of(core: CoreMaterial, powders: tuple[Powder, ...]) -> Cooling:
    """Cooling for a kind of core.

    Metal and alumina cool on the bench. Zirconia and glass-ceramic stay in the shut muffle to below the
    lowest glass transition on the powders' cards (500 degC when no card gives one). Common practice; for
    zirconia the papers disagree and both sides are given.
    """
    if core.kind in ("metal", "alumina"):
        words = "Bench, no draught."
        return Cooling(words, BENCH_K_PER_MIN, BENCH_TO_DEGC, ())
    to_degC = _below_transition_degC(powders)
    words = f"Slow, muffle shut to {to_degC:.0f} °C."
    cautions = (_FOR_SLOW, _AGAINST_SLOW) if core.kind == "zirconia" else ()
    return Cooling(words, SLOW_K_PER_MIN, to_degC, cautions)


def _below_transition_degC(powders: tuple[Powder, ...]) -> float:
    found = [p.thermal["glass_transition_degC"] for p in powders if "glass_transition_degC" in p.thermal]
    if not found:
        return SLOW_TO_DEGC
    lowest = min(f.value if f.low is None else f.low for f in found)
    return math.floor((lowest - SLOW_MARGIN_K) / 10.0) * 10.0
