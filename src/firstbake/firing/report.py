"""What the whole sequence of bakes does to the porcelain, bake by bake."""

from dataclasses import dataclass, replace

from scipy.optimize import brentq

from firstbake.firing.correction import CorrectionPeak, correction_range, work_of
from firstbake.firing.curve import temperature_curve
from firstbake.firing.density import RIPE, bonded_density, free_density, residual_porosity, stage_of
from firstbake.firing.heat_work import Ripening, flow_per_Pa, ripening_of
from firstbake.firing.programme import Programme
from firstbake.firing.rounding import EDGE_LIMIT_UM, sagged_um
from firstbake.powder import Powder

_FELT = ("main", "correction", "glaze")  # bakes that the body's porcelain goes through
_OFF_K = (-10.0, -5.0, 5.0, 10.0)
_OTHER_K = 10.0
_LONGEST_S = 3600.0


@dataclass(frozen=True)
class BakeReport:
    """One bake as the body's porcelain feels it.

    work, work_total : heat work X of this bake, and with all before it
    density_free, density_bonded : relative density after it, free body and layer on the core
    porosity         : of the layer, not under what trapped gas leaves
    stage            : "raw", "under-fired", "ripe" or "over-fired"; "glazed" after the glaze
    thermometer      : K off the true temperature -> density of the layer after this bake
    rounded_um, rounded_total_um : how far sharp edges go back in this bake, and in all so far
    sagged_um        : how far an upright face of this thickness runs down in this bake
    hotter_hold_s, cooler_hold_s : hold that does the same 10 K hotter and cooler; None where none does
    """

    bake: str
    work: float
    work_total: float
    density_free: float
    density_bonded: float
    porosity: float
    stage: str
    thermometer: dict[float, float]
    rounded_um: float
    rounded_total_um: float
    sagged_um: float
    hotter_hold_s: float | None
    cooler_hold_s: float | None


@dataclass(frozen=True)
class FiringReport:
    """The sequence on one powder, the one with most of the body.

    bakes      : those that the body goes through, in order
    correction : tops that ripen an addition and keep the edges, after the main bake
    limit_um   : how far edges may go back in all      notes : in sentences
    """

    powder: str
    ripening: Ripening
    bakes: tuple[BakeReport, ...]
    correction: CorrectionPeak | None
    limit_um: float
    notes: tuple[str, ...]


def firing_report(
    programmes: tuple[Programme, ...],
    powder: Powder,
    *,
    thickness_mm: float,
    limit_um: float = EDGE_LIMIT_UM,
) -> FiringReport:
    """Follow the body's porcelain through the sequence.

    programmes   : in order; only main, correction and glaze touch the body
    thickness_mm : of its thickest place
    """
    ripening = ripening_of(powder)
    green = powder.green_relative_density.value
    felt = [p for p in programmes if p.bake in _FELT]
    bakes: list[BakeReport] = []
    before = 0.0
    for programme in felt:
        bakes.append(_bake(programme, ripening, green=green, before=before, thick=(thickness_mm, limit_um)))
        before = bakes[-1].work_total
    main = next((b for b in bakes if b.bake == "main"), None)
    again = next((p for p in felt if p.bake == "correction"), None)
    found = None
    if main is not None and again is not None:
        found = correction_range(again, ripening, green=green, work_before=main.work_total, limit_um=limit_um)
    return FiringReport(powder.name, ripening, tuple(bakes), found, limit_um, _notes(bakes, found))


def _bake(
    programme: Programme, ripening: Ripening, *, green: float, before: float, thick: tuple[float, float]
) -> BakeReport:
    """thick : thickness, mm, and limit of the edges, um."""
    thickness_mm, limit_um = thick
    work = work_of(programme, ripening)
    total = before + work
    bonded = bonded_density(green, total)
    rounded = ripening.rounding_um(total)
    left = max(1.0 - bonded, residual_porosity(programme.vacuum_from_degC is not None))
    off = {
        k: bonded_density(
            green, before + work_of(replace(programme, peak_degC=programme.peak_degC + k), ripening)
        )
        for k in _OFF_K
    }
    return BakeReport(
        bake=programme.bake,
        work=work,
        work_total=total,
        density_free=free_density(green, total),
        density_bonded=bonded,
        porosity=left,
        stage="glazed" if programme.bake == "glaze" else stage_of(bonded, rounded, limit_um=limit_um),
        thermometer=off,
        rounded_um=ripening.rounding_um(work),
        rounded_total_um=rounded,
        sagged_um=sagged_um(thickness_mm, flow_per_Pa(*temperature_curve(programme), ripening.viscosity)),
        hotter_hold_s=_hold(programme, ripening, _OTHER_K, work),
        cooler_hold_s=_hold(programme, ripening, -_OTHER_K, work),
    )


def _hold(programme: Programme, ripening: Ripening, by_K: float, work: float) -> float | None:
    """Hold at another top that does the same work, s; None where even none or an hour does not."""
    moved = replace(programme, peak_degC=programme.peak_degC + by_K)

    def miss(hold_s: float) -> float:
        return work_of(replace(moved, hold_s=hold_s), ripening) - work

    if miss(0.0) > 0 or miss(_LONGEST_S) < 0:
        return None
    return float(brentq(miss, 0.0, _LONGEST_S, xtol=0.1))


def _notes(bakes: list[BakeReport], correction: CorrectionPeak | None) -> tuple[str, ...]:
    told = []
    main = next((b for b in bakes if b.bake == "main"), None)
    if main is not None and main.stage != "ripe":
        told.append(
            f"Main bake: {main.stage} by the powder's figures ({main.density_bonded:.0%} dense, ripe from "
            f"{RIPE:.0%}); the maker's programme decides, a series of fired discs tells"
        )
    if main is not None and main.stage == "ripe" and main.thermometer[-10.0] < RIPE:
        told.append("Main bake: a furnace that is 10 K cooler than it shows leaves it under-fired; check it")
    if correction is not None and not correction.exists:
        told.append(f"Correction: {correction.words}")
    return tuple(told)
