"""From a recipe to a layering: rules of cut-back that give each zone what the recipe asks of it."""

from dataclasses import replace

from firstbake.case import Case
from firstbake.colour import places_of
from firstbake.layering import CutBack, Layers, layer_up, usual_cut_back
from firstbake.recipe.answer import CrownRecipe
from firstbake.room import Room
from firstbake.teeth import Frame

_ZONES = ("cervical", "body", "incisal")
_THIN = ("liner", "opaque", "opaque-dentine", "transparent")
_OUTSIDE = ("enamel", "transparent")
_TURNS = 1
_LEAST_FACTOR, _MOST_FACTOR = 0.5, 2.0
_TINY_MM = 0.01

Zones = dict[str, float]


def layer_by(case: Case, frame: Frame, room: Room, *, recipe: CrownRecipe) -> tuple[Case, Layers]:
    """The case with the recipe's powders, and its layering with each zone as the recipe has it.

    The case's own powders stay for roles that a recipe has nothing to say of (margin).
    method : rules for enamel by zone and for thin layers by zone; layered, the middle thickness of each zone
             compared with the recipe's, and the rules for enamel scaled by the ratio. Lobes, grooves,
             the run-out at the margin and the least layers of the case stay, so that the recipe is the
             middle of its zone and not every point of it.
    """
    kept = tuple(powder for powder in case.powders if powder.role == "margin")
    own = replace(case, powders=recipe.powders + kept)
    roles = {powder.name: powder.role for powder in recipe.powders}
    wanted = {zone.zone: _by_role(zone.layers_mm, roles) for zone in recipe.zones}
    usual = usual_cut_back(case.tooth, case.limits)
    rules = _rules(usual, wanted)
    layers = layer_up(own, frame, room, rules=rules)
    if not any(powder.role == "enamel" for powder in recipe.powders):
        return own, layers
    for _ in range(_TURNS):
        found = {
            place.zone: _by_role(tuple((p.name, mm) for p, mm in place.layers), roles)
            for place in places_of(own, frame, room, layers=layers)
        }
        rules = replace(
            rules,
            cervical_mm=_scaled(rules.cervical_mm, wanted, found, "cervical"),
            middle_mm=_scaled(rules.middle_mm, wanted, found, "body"),
            edge_mm=_scaled(rules.edge_mm, wanted, found, "incisal"),
        )
        layers = layer_up(own, frame, room, rules=rules)
    return own, layers


def _by_role(layers_mm: tuple[tuple[str, float], ...], roles: dict[str, str]) -> Zones:
    """Thickness by role, mm; what lies in front of and behind the dentine of a free edge added up."""
    found: Zones = {}
    for name, mm in layers_mm:
        role = roles.get(name, "margin")
        found[role] = found.get(role, 0.0) + mm
    return found


def _outside(zone: Zones) -> float:
    return sum(zone.get(role, 0.0) for role in _OUTSIDE)


def _rules(usual: CutBack, wanted: dict[str, Zones]) -> CutBack:
    """The usual rules with the recipe's thicknesses in the zones that have one."""
    start = dict(zip(_ZONES, (usual.cervical_mm, usual.middle_mm, usual.edge_mm), strict=True))
    enamel = {zone: _outside(wanted[zone]) if zone in wanted else start[zone] for zone in _ZONES}
    thin = []
    for role in _THIN:
        known = [wanted[zone].get(role, 0.0) if zone in wanted else None for zone in _ZONES]
        given = [mm for mm in known if mm is not None]
        if any(given):
            mean = sum(given) / len(given)
            first, second, third = (mean if mm is None else mm for mm in known)
            thin.append((role, (first, second, third)))
    coats = sum(max(zones) for role, zones in thin if role in ("liner", "opaque"))
    return replace(
        usual,
        cervical_mm=enamel["cervical"],
        middle_mm=enamel["body"],
        edge_mm=enamel["incisal"],
        coats_mm=coats,
        by_zone=tuple(thin),
        room_share=max(usual.room_share, 0.75),
        sources={**usual.sources, "cervical_mm": "recipe", "middle_mm": "recipe", "edge_mm": "recipe"},
    )


def _scaled(rule_mm: float, wanted: dict[str, Zones], found: dict[str, Zones], zone: str) -> float:
    if zone not in wanted or zone not in found:
        return rule_mm
    asked, has = _outside(wanted[zone]), _outside(found[zone])
    if has < _TINY_MM or asked < _TINY_MM:
        return rule_mm
    return rule_mm * min(max(asked / has, _LEAST_FACTOR), _MOST_FACTOR)
