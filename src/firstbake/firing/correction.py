"""The top of a correction bake: hot enough to ripen what is added, cool enough to keep what stands."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from scipy.optimize import brentq

from firstbake.firing.curve import temperature_curve
from firstbake.firing.density import RIPE, work_to
from firstbake.firing.heat_work import Ripening, heat_work
from firstbake.firing.programme import Programme
from firstbake.firing.rounding import EDGE_LIMIT_UM

_LEAST_DEGC = 500.0
_OVER_K = 100.0


@dataclass(frozen=True)
class CorrectionPeak:
    """Range of tops for a correction bake.

    least_degC : where the added porcelain is just ripe; None when no top within 100 K over the usual one does
    most_degC  : where the old edges have gone back by the limit, all firings together; None when they have
                 already
    words      : the answer in a sentence
    """

    least_degC: float | None
    most_degC: float | None
    words: str

    @property
    def exists(self) -> bool:
        """Whether one top does both."""
        least, most = self.least_degC, self.most_degC
        return least is not None and most is not None and least <= most


def work_of(programme: Programme, ripening: Ripening) -> float:
    """Heat work of a whole programme on this powder."""
    return heat_work(*temperature_curve(programme), ripening)


def correction_range(
    programme: Programme,
    ripening: Ripening,
    *,
    green: float,
    work_before: float,
    limit_um: float = EDGE_LIMIT_UM,
) -> CorrectionPeak:
    """Tops at which a correction bake of this climb and hold does both.

    programme   : the correction as usual; only its top is moved
    green       : relative density of the added powder before firing
    work_before : heat work of the old porcelain so far
    limit_um    : how far its edges may go back in all firings together
    """

    def work_at(degC: float) -> float:
        return work_of(replace(programme, peak_degC=degC), ripening)

    cool_to = programme.cool_to_degC or 0.0
    low, high = max(_LEAST_DEGC, programme.dry_degC + 1, cool_to + 1), programme.peak_degC + _OVER_K
    need = work_to(green, RIPE)
    spare = limit_um / ripening.rounding_um(1.0) - work_before
    least = _where(work_at, need, low, high) if work_at(high) >= need else None
    most = None if spare <= work_at(low) else _where(work_at, spare, low, high)
    words = _words(least, most, limit_um=limit_um, so_far_um=ripening.rounding_um(work_before))
    return CorrectionPeak(least, most, words)


def _where(work_at: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Top at which a bake does this much work, kept within low and high."""
    if work_at(high) <= wanted:
        return high
    if work_at(low) >= wanted:
        return low
    return float(brentq(lambda degC: work_at(degC) - wanted, low, high, xtol=0.05))


def _words(least: float | None, most: float | None, *, limit_um: float, so_far_um: float) -> str:
    if least is None:
        return (
            f"No correction ripens the addition by the powder's figures, {_OVER_K:.0f} K over the usual top "
            "neither; a series of fired discs tells how it ripens in truth"
        )
    if most is None:
        return (
            f"No correction keeps the edges: they have gone back {so_far_um:.0f} µm of {limit_um:.0f}; "
            "add where there is no edge, or use a powder that ripens cooler"
        )
    if least > most:
        return (
            f"No top does both: the addition is ripe from {least:.0f} °C, the edges bear {most:.0f} °C at "
            "most; use a powder that ripens cooler"
        )
    return f"Ripe from {least:.0f} °C, edges kept up to {most:.0f} °C"
