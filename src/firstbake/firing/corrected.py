"""The correction bake of a sequence, its top set by what ripens the addition and keeps the edges."""

from dataclasses import replace

from firstbake.firing.correction import CorrectionPeak, correction_range, work_of
from firstbake.firing.heat_work import ripening_of
from firstbake.firing.programme import Programme
from firstbake.firing.usual import CORRECTION_BELOW_K
from firstbake.powder import Powder

_GLAZE_UNDER_K = 5.0  # so that the correction keeps its form, common practice
_BODY = ("dentine", "opaque-dentine", "enamel", "transparent")


def body_powder(powders: tuple[Powder, ...]) -> Powder | None:
    """The powder that the body's bakes are reckoned for: the first dentine, else the next kind, else None."""
    return next((p for role in _BODY for p in powders if p.role == role), None)


def corrected(bakes: tuple[Programme, ...], powders: tuple[Powder, ...]) -> tuple[Programme, ...]:
    """The same bakes with the top of the correction moved where the usual one does not ripen or rounds edges.

    It stays within the usual 5 to 20 K under the main bake; where no top in there does both, the usual one
    stands and a caution says so.
    """
    powder = body_powder(powders)
    main = next((b for b in bakes if b.bake == "main"), None)
    again = next((b for b in bakes if b.bake == "correction"), None)
    if powder is None or main is None or again is None:
        return bakes
    ripening = ripening_of(powder)
    green = powder.green_relative_density.value
    found = correction_range(again, ripening, green=green, work_before=work_of(main, ripening))
    moved = _moved(again, main.peak_degC, found)
    done = []
    for bake in bakes:
        if bake.bake == "glaze" and bake.peak_degC >= moved.peak_degC:
            top = moved.peak_degC - _GLAZE_UNDER_K
            bake = replace(bake, peak_degC=top, source=f"{_GLAZE_UNDER_K:g} K under the correction")
        done.append(moved if bake is again else bake)
    return tuple(done)


def _moved(again: Programme, main_degC: float, found: CorrectionPeak) -> Programme:
    told = f"{found.words} by heat work"
    if found.least_degC is None or found.most_degC is None or not found.exists:
        return again.with_cautions((*again.cautions, f"{found.words}."))
    low, high = main_degC - CORRECTION_BELOW_K[1], main_degC - CORRECTION_BELOW_K[2]
    if found.least_degC <= again.peak_degC <= found.most_degC:
        return replace(again, source=f"{again.source}; {told}")
    if found.least_degC > high or found.most_degC < low:
        words = f"{found.words}, outside the usual {low:.0f} to {high:.0f} °C; the maker decides."
        return again.with_cautions((*again.cautions, words))
    peak = min(max(again.peak_degC, found.least_degC), found.most_degC)
    return replace(again, peak_degC=float(round(peak)), source=f"{told}; usual {again.peak_degC:g} °C")
