"""The top of a correction bake: hot enough to ripen what is added, cool enough to keep what stands."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from scipy.optimize import brentq

from firstbake.firing.curve import temperature_curve
from firstbake.firing.density import RIPE, bonded_density, work_to
from firstbake.firing.heat_work import Ripening, heat_work
from firstbake.firing.programme import Programme
from firstbake.firing.rounding import EDGE_LIMIT_UM

_LEAST_DEGC = 500.0
_OVER_K = 100.0


@dataclass(frozen=True)
class CorrectionPeak:
    """Range of tops for a correction bake.

    least_degC : where the added porcelain is just ripe
    most_degC  : where the old edges have gone back by the limit, all firings together; None when they have
                 already
    words      : the answer in a sentence
    """

    least_degC: float
    most_degC: float | None
    words: str

    @property
    def exists(self) -> bool:
        """Whether one top does both."""
        return self.most_degC is not None and self.least_degC <= self.most_degC


def work_of(programme: Programme, ripening: Ripening) -> float:
    """Heat work of a whole programme on this powder."""
    time_s, degC = temperature_curve(programme)
    return heat_work(
        time_s,
        degC,
        ripening.viscosity,
        surface_tension_N_per_m=ripening.surface_tension_N_per_m,
        grain_radius_um=ripening.grain_radius_um,
    )


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
    least = _where(work_at, need, low, high)
    most = None if spare <= work_at(low) else _where(work_at, spare, low, high)
    return CorrectionPeak(least, most, _words(least, most, limit_um, ripening.rounding_um(work_before)))


def _where(work_at: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Top at which a bake does this much work, kept within low and high."""
    if work_at(high) <= wanted:
        return high
    if work_at(low) >= wanted:
        return low
    return float(brentq(lambda degC: work_at(degC) - wanted, low, high, xtol=0.05))


def _words(least: float, most: float | None, limit_um: float, so_far_um: float) -> str:
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


def ripe_by(programme: Programme, ripening: Ripening, *, green: float) -> float:
    """Relative density of powder on a core after this programme alone."""
    return bonded_density(green, work_of(programme, ripening))
