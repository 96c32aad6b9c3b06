"""Which powders may be tried together over a core."""

from itertools import product

from firstbake.case import Limits
from firstbake.firing import expansion_words
from firstbake.powder import CoreMaterial, Powder, layer_of_role
from firstbake.recipe.asked import SLOTS, Ingredient, PowderSet

#: Powders of the main bake whose cards ask for peaks further apart than this are not put together (chosen
#: here; one bake fires them all).
TOGETHER_K = 40.0
#: Most sets that are looked at; beyond it the richest are left out and the recipe says so (chosen here).
MOST_SETS = 400
# Thickest layer of a role that is not a thin one, mm: enamel of 0.2 to 0.9 mm is the habit of the demo cases
# (common practice, no published source); dentine takes whatever room there is.
_MOST_MM = {"dentine": 5.0, "enamel": 0.9}
_MAY_MISS = ("opaque-dentine", "transparent")
_MAIN_BAKE = ("opaque-dentine", "dentine", "enamel", "transparent")


def ingredient_of(powder: Powder, limits: Limits) -> Ingredient:
    """The powder with its practical limits: its card's least, the case's least dentine and enamel."""
    least = powder.least_mm.value
    if powder.role == "dentine":
        least = max(least, limits.least_dentine_mm)
    if powder.role == "enamel":
        least = max(least, limits.least_enamel_mm)
    usual = powder.layer_mm or layer_of_role(powder.role)
    wide = layer_of_role(powder.role)
    most = _MOST_MM.get(powder.role, 0.0)
    for figure in (usual, wide):
        if figure is not None:
            most = max(most, figure.value if figure.high is None else figure.high)
    return Ingredient(
        powder.name, powder.role, powder.optics, least, max(most, least), powder.role in _MAY_MISS
    )


def suits(core: CoreMaterial, powder: Powder) -> bool:
    """Whether a powder may be tried on this core: its expansion raises no doubt, and its role has a place."""
    if powder.role not in SLOTS or (powder.role == "opaque" and core.kind != "metal"):
        return False
    return not expansion_words(core, (powder,))


def sets_of(
    core: CoreMaterial, powders: tuple[Powder, ...], limits: Limits
) -> tuple[tuple[PowderSet, ...], tuple[str, ...]]:
    """Every set of powders to try, fewest powders first, and sentences on what was left out.

    Dentine is in every set and enamel where there is one; a metal core has an opaque where there is one.
    Liner, opaque dentine and transparent are tried with and without. One powder of a role.
    """
    fitting = [powder for powder in powders if suits(core, powder)]
    axes: list[list[Powder | None]] = []
    for role in SLOTS:
        mine: list[Powder | None] = [powder for powder in fitting if powder.role == role]
        needed = role in ("dentine", "enamel") or (role == "opaque" and core.kind == "metal")
        axes.append(mine if needed and mine else [None, *mine])
    known = {powder.name: ingredient_of(powder, limits) for powder in fitting}
    found = []
    for chosen in product(*axes):
        used = [powder for powder in chosen if powder is not None]
        if any(powder.role == "dentine" for powder in used) and _one_bake(used):
            found.append(PowderSet(tuple(known[powder.name] for powder in used)))
    found.sort(key=lambda powders: len(powders.ingredients))
    notes = []
    if len(found) > MOST_SETS:
        notes.append(
            f"{len(found)} sets of powders are possible; the {MOST_SETS} with the fewest powders were tried."
        )
    return tuple(found[:MOST_SETS]), tuple(notes)


def _one_bake(used: list[Powder]) -> bool:
    peaks = [
        powder.thermal["first_bake_degC"].value
        for powder in used
        if powder.role in _MAIN_BAKE and "first_bake_degC" in powder.thermal
    ]
    return not peaks or max(peaks) - min(peaks) <= TOGETHER_K
