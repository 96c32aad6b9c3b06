"""cool_crown: the plan's own crown from the furnace to the bench, and where it may crack."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from firstbake.case import Case
from firstbake.cooling.by_layer import filled_by_layers
from firstbake.cooling.columns import Columns
from firstbake.cooling.crown_stress import CoolingStress, cooling_stress
from firstbake.cooling.fracture import (
    USUAL_TOUGHNESS,
    USUAL_WEIBULL,
    USUAL_STRENGTH_MPa,
    bearable_MPa,
    failure_probability,
)
from firstbake.cooling.remembered import Filling
from firstbake.cooling.risk import WATCH, Risk, band_of, shape_of, words_of, worst_places
from firstbake.cooling.solid import Solid
from firstbake.cooling.surroundings import Descent
from firstbake.cooling.walled import Walled, with_core
from firstbake.cooling.what_if import Place, Swell, helps, swell_of
from firstbake.errors import BadSum
from firstbake.fem import VeneerMesh, volumes_mm3
from firstbake.layering import Layers
from firstbake.mesh import Floats
from firstbake.powder import Figure, Powder
from firstbake.room import Room
from firstbake.teeth import Frame, place_in_words

_THICK_MM = 1.5


@dataclass(frozen=True, eq=False)
class CrownCooling:
    """What cooling does to the plan's crown; arrays follow the contour's vertices, NaN without porcelain.

    surface_MPa, inside_MPa, bond_MPa : (n,) greatest pull at the surface, below it and at the core, cold
    lifting_MPa  : (n,) pull square to the core, greater than 0 lifts
    on_the_way_MPa : (n,) greatest pull in the column at any time
    risks        : worst places, worst first        chance : that some flaw gives way (Weibull), 0 to 1
    cold         : all of the sum                   nodes : of the mesh
    assumed      : values that no card gave         notes : what the sum left out
    """

    surface_MPa: Floats
    inside_MPa: Floats
    bond_MPa: Floats
    lifting_MPa: Floats
    on_the_way_MPa: Floats
    risks: tuple[Risk, ...]
    chance: float
    cold: CoolingStress
    nodes: int
    assumed: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Crown:
    """The crown to cool: case, axes, room, layers and the mesh of its porcelain as it leaves the furnace, or
    None where it could not be meshed."""

    case: Case
    frame: Frame
    room: Room
    layers: Layers
    mesh: VeneerMesh | None


def cool_crown(
    crown: Crown,
    way: Descent,
    *,
    progress: Callable[[float], None] = lambda share: None,
) -> CrownCooling:
    """Cool the crown along the way down.

    progress : told the share done; raise from it to stop
    raises   : BadSum when there is no mesh, the core's wall does not fit, or the sums do not settle
    """
    case, mesh = crown.case, crown.mesh
    if mesh is None or mesh.core is None:
        raise BadSum("the porcelain could not be meshed between core and contour")
    walled = with_core(mesh, case.core_wall_mm)
    contour = case.contour.surface
    filling = filled_by_layers(
        walled, crown.layers, contour=contour, ground=mesh.core, core=case.core_material
    )
    cold = cooling_stress(walled, filling, way.legs, start_degC=way.start_degC, progress=progress)
    columns = Columns(contour, crown.room, walled, cold)
    risks = _risks(crown, columns, filling, way=way)
    assumed = tuple(f"{solid.name}: {name}" for solid in filling.solids for name in solid.assumed)
    return CrownCooling(
        surface_MPa=columns.at(0),
        inside_MPa=columns.below(),
        bond_MPa=columns.at(-1),
        lifting_MPa=columns.lifting(),
        on_the_way_MPa=columns.on_the_way(),
        risks=risks,
        chance=_chance(crown, walled, filling, columns),
        cold=cold,
        nodes=len(walled.nodes_mm),
        assumed=assumed,
        notes=_notes(walled, case),
    )


def _risks(crown: Crown, columns: Columns, filling: Filling, *, way: Descent) -> tuple[Risk, ...]:
    powder = _body_powder(crown.layers)
    toughness = _value(powder.thermal, "toughness_MPa_sqrt_m", USUAL_TOUGHNESS)
    found = []
    for kind in ("surface", "inside", "lifting"):
        pull = columns.of(kind)
        rows = worst_places(columns.points_mm, pull, columns.thickness_mm, kind=kind, toughness=toughness)
        found += [
            _risk(crown, kind, (row, float(pull[row]), ratio), filling=filling, way=way)
            for row, ratio in rows
        ]
    return tuple(sorted(found, key=lambda r: -r.ratio))


def _risk(crown: Crown, kind: str, at: tuple[int, float, float], *, filling: Filling, way: Descent) -> Risk:
    """at : row of the contour, pull there, MPa, and its share of what the layer bears."""
    row, pull, ratio = at
    thick = float(crown.room.thickness_mm[row])
    wall, place_mm = crown.case.core_wall_mm, crown.case.contour.surface.vertices_mm[row]
    place = Place(max(thick, 0.1), wall, max(_half_width_mm(crown) - wall, 0.5))
    powder = _body_powder(crown.layers)
    veneer = next(solid for solid in filling.solids if solid.name == powder.name)
    core = filling.solids[-1]
    swell = swell_of(place, veneer, core, way=way)
    doubt = _doubt_MPa(swell, kind, crown)
    bears = _bears_MPa(crown, thick, kind)
    share = doubt / bears
    x, y, z = (float(v) for v in place_mm)
    return Risk(
        kind=kind,
        what=words_of(kind),
        where=place_in_words(crown.frame, place_mm),
        at_mm=(x, y, z),
        thickness_mm=thick,
        pull_MPa=pull,
        doubt_MPa=doubt,
        bears_MPa=bears,
        band=band_of(ratio),
        doubt_band=(band_of(ratio - share), band_of(ratio + share)),
        drivers=_drivers(crown, row, veneer, core, way=way),
        helps=helps(kind, place, veneer, core, way=way, swell=swell) if ratio > WATCH else (),
    )


def _bears_MPa(crown: Crown, thickness_mm: float, kind: str) -> float:
    toughness = _value(_body_powder(crown.layers).thermal, "toughness_MPa_sqrt_m", USUAL_TOUGHNESS)
    return float(bearable_MPa(thickness_mm, toughness=toughness, shape=shape_of(kind)))


def _doubt_MPa(swell: Swell, kind: str, crown: Crown) -> float:
    """One standard deviation of the pull from the expansions on the cards.

    low and high of a card are taken as two standard deviations off; a card without them counts 0.3 ppm/K.
    """
    veneer = _expansion_sd(_body_powder(crown.layers).thermal)
    core = _expansion_sd(crown.case.core_material.thermal)
    return float(np.hypot(swell.per_veneer[kind] * veneer, swell.per_core[kind] * core))


def _expansion_sd(thermal: dict[str, Figure]) -> float:
    figure = thermal.get("expansion_ppm_per_K")
    if figure is None or figure.low is None or figure.high is None:
        return 0.3
    return (figure.high - figure.low) / 4


def _drivers(crown: Crown, row: int, veneer: Solid, core: Solid, *, way: Descent) -> tuple[str, ...]:
    thick = float(crown.room.thickness_mm[row])
    told = []
    if any(row in region.vertices for region in crown.room.unsupported):
        told.append(f"{thick:.1f} mm unsupported")
    elif thick > _THICK_MM:
        told.append(f"{thick:.1f} mm thick")
    if not way.is_slow:
        told.append("fast cooling")
    gap = core.expansion_ppm_per_K - veneer.expansion_ppm_per_K
    if gap < 0:
        told.append(f"the porcelain expands {-gap:.1f} ppm/K more than the core")
    elif gap > 1.0:
        told.append(f"the core expands {gap:.1f} ppm/K more than the porcelain")
    if crown.case.core_wall_mm < 0.5 * thick:
        told.append(f"{thick / crown.case.core_wall_mm:.1f} times as thick as the core's wall")
    return tuple(told) or ("the pair itself",)


def _chance(crown: Crown, walled: Walled, filling: Filling, columns: Columns) -> float:
    powder = _body_powder(crown.layers)
    cells = walled.tets[filling.glassy]
    pull = columns.smooth[cells].mean(axis=1)
    volumes = volumes_mm3(walled.nodes_mm, cells)
    return failure_probability(
        pull,
        volumes,
        strength_MPa=_value(powder.thermal, "strength_MPa", USUAL_STRENGTH_MPa),
        modulus=_value(powder.thermal, "weibull_modulus", USUAL_WEIBULL),
    )


def _body_powder(layers: Layers) -> Powder:
    """The powder with most volume in the main bake."""
    soft = [layer for layer in layers.layers if not layer.powder.fired_before_the_build]
    return max(soft, key=lambda layer: layer.volume_mm3).powder


def _value(thermal: dict[str, Figure], name: str, usual: float) -> float:
    return thermal[name].value if name in thermal else usual


def _half_width_mm(crown: Crown) -> float:
    """A radius that stands for the core's bend: half its width mesially to distally."""
    along = crown.case.core.surface.vertices_mm @ crown.frame.axes[0]
    return float(np.ptp(along)) / 2


def _notes(walled: Walled, case: Case) -> tuple[str, ...]:
    told = [
        f"core taken as an even wall of {case.core_wall_mm:.2f} mm under the porcelain, cooled from outside"
    ]
    if walled.thinned_share > 0.02:
        told.append(f"the wall had to be thinned over {walled.thinned_share:.0%} of the bond, at sharp edges")
    return tuple(told)
