"""The bakes for one crown, in order."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadSum
from firstbake.firing.cautions import Caution, cautions_for, step_cautions
from firstbake.firing.cooling import Cooling, cooling_of
from firstbake.firing.corrected import corrected
from firstbake.firing.drying import furnace_drying_s
from firstbake.firing.peak import (
    Peak,
    correction_peak,
    glaze_peak,
    oxidise_peak,
    powder_peak,
    unlike_words,
    wash_peak,
)
from firstbake.firing.programme import Programme
from firstbake.firing.usual import (
    DRY_DEGC,
    GLAZE_DRY_S,
    HOLD_S,
    NOBLE_HOLD_S,
    PURPOSE,
    THIN_DRY_S,
    VACUUM_FROM_DEGC,
)
from firstbake.powder import CoreMaterial, MakerBake, Powder

Floats = NDArray[np.float64]

_BASE_METALS = ("nickel", "cobalt", "chromium")


def default_sequence(
    core_material: CoreMaterial, powders: tuple[Powder, ...], thickness_mm: Floats
) -> tuple[Programme, ...]:
    """Every bake of one crown with its source and cautions.

    A core card's own bakes win over all of this. Else: metal is oxidised first; liner, wash and opaque,
    margin are fired when there is such a powder; then main, correction and glaze. Peaks come from the
    powders' cards.

    thickness_mm : fired porcelain, any shape, mm; the thickest place sets the drying of the main bake
    raises       : BadSum when no thickness is a number
    """
    found = cautions_for(core_material, powders)
    if core_material.firing:
        own = (_from_maker(bake) for bake in core_material.firing)
        return _with_cautions(tuple(own), found, core_material)
    thickest = _thickest(thickness_mm)
    cooling = cooling_of(core_material, powders)
    plans = _plans(core_material, powders, thickest)
    bakes = corrected(tuple(plan.programme(cooling) for plan in plans), powders)
    return _with_cautions(bakes, found, core_material)


@dataclass(frozen=True)
class _Plan:
    """One bake before cooling and cautions are known."""

    bake: str
    peak: Peak
    dry_s: float
    hold_s: float = HOLD_S
    vacuum: bool = True
    cautions: tuple[str, ...] = ()

    def programme(self, cooling: Cooling) -> Programme:
        return Programme(
            bake=self.bake,
            purpose=PURPOSE[self.bake],
            dry_s=self.dry_s,
            dry_degC=DRY_DEGC,
            climb_K_per_min=self.peak.climb_K_per_min,
            peak_degC=self.peak.degC,
            low_degC=self.peak.low_degC,
            high_degC=self.peak.high_degC,
            hold_s=self.hold_s,
            vacuum_from_degC=VACUUM_FROM_DEGC if self.vacuum else None,
            vacuum_to_degC=self.peak.degC if self.vacuum else None,
            cool=cooling.words,
            status=self.peak.status,
            source=self.peak.source,
            cautions=(*self.cautions, *cooling.cautions) if self.bake == "main" else self.cautions,
            cool_K_per_min=cooling.K_per_min,
            cool_to_degC=cooling.to_degC,
        )


def _plans(core: CoreMaterial, powders: tuple[Powder, ...], thickest_mm: float) -> list[_Plan]:
    roles = {p.role for p in powders}
    plans: list[_Plan] = []
    if core.kind == "metal":
        noble = not any(metal in core.holds for metal in _BASE_METALS)
        plans.append(
            _Plan("oxidise", oxidise_peak(), 0.0, hold_s=NOBLE_HOLD_S if noble else HOLD_S, vacuum=False)
        )
    if "liner" in roles:
        plans.append(_Plan("liner", powder_peak(core, powders, "liner"), THIN_DRY_S))
    if "opaque" in roles:
        opaque = powder_peak(core, powders, "opaque")
        plans += [_Plan("wash", wash_peak(opaque), THIN_DRY_S), _Plan("opaque", opaque, THIN_DRY_S)]
    if "margin" in roles:
        plans.append(_Plan("margin", powder_peak(core, powders, "margin"), THIN_DRY_S))
    main = powder_peak(core, powders, "main")
    dry_s = furnace_drying_s(thickest_mm)
    return [
        *plans,
        _Plan("main", main, dry_s, cautions=unlike_words(powders, main)),
        _Plan("correction", correction_peak(main), dry_s),
        _Plan("glaze", glaze_peak(main), GLAZE_DRY_S, vacuum=False),
    ]


def _thickest(thickness_mm: Floats) -> float:
    known = np.asarray(thickness_mm, dtype=np.float64).ravel()
    known = known[np.isfinite(known)]
    if known.size == 0:
        raise BadSum(
            "no thickness of porcelain is a number, so drying times cannot be worked out; check the room"
        )
    return max(float(known.max()), 0.0)


def _with_cautions(
    bakes: tuple[Programme, ...], found: tuple[Caution, ...], core: CoreMaterial
) -> tuple[Programme, ...]:
    """The bakes with the cautions of each step, too-hot ones first."""
    done: list[Programme] = []
    for row, bake in enumerate(bakes):
        usual = step_cautions(found, bake.bake, first=row == 0)
        done.append(bake.with_cautions((*_too_hot(bake, core), *bake.cautions, *usual)))
    return tuple(done)


def _too_hot(bake: Programme, core: CoreMaterial) -> tuple[str, ...]:
    most = core.thermal.get("most_bake_degC")
    if most is None or bake.peak_degC <= most.value:
        return ()
    return (
        f"{bake.peak_degC:g} °C is over the {most.value:g} °C that {core.name} stands: "
        f"choose a lower-fusing powder ({most.source}).",
    )


def _from_maker(bake: MakerBake) -> Programme:
    return Programme(**vars(bake))
