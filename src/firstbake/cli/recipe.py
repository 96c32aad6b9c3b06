"""firstbake recipe: which powders, and how thick, to land on the wanted colours."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from firstbake.cli.talk import say, say_json, say_table, stages

if TYPE_CHECKING:
    from firstbake.recipe import CrownRecipe, ZoneRecipe


def recipe(
    case: Path,
    /,
    *,
    own: Annotated[bool, Parameter(help="choose from the case's own powders only", negative="")] = False,
    out: Annotated[Path | None, Parameter(help="folder for recipe.json")] = None,
    json: Annotated[bool, Parameter(help="print the recipe as JSON", negative="")] = False,
) -> None:
    """Find the powders of the shelf and their thickness in each zone that come nearest to the targets.

    Where a target is out of reach it says so, with what limits it and what can be done.

    Example: `firstbake recipe case.toml --out recipe-of-11`

    Parameters
    ----------
    case
        The case file (TOML), with colours under [target].
    """
    from firstbake.crown import recipe_for
    from firstbake.files import case_out, check_output, read_case, recipe_file, shelf_powders, write_recipe

    if out is not None:
        check_output(out)
    with stages(quiet=json) as begin:
        loaded = read_case(case, progress=begin)
        shelf = () if own else shelf_powders(case, loaded.inputs)
        found = recipe_for(loaded.case, shelf=shelf, progress=begin)
    document = recipe_file(loaded, found, case=case_out(loaded))
    written = None if out is None else write_recipe(document, out)
    if json:
        say_json(document)
        return
    _tell(found)
    if written is not None:
        say("")
        say(str(written))


def _tell(found: "CrownRecipe") -> None:
    zones = found.zones
    say(_lead(zones))
    roles = {powder.name: powder.role for powder in found.powders}
    say("")
    for powder in found.powders:
        say(f"{powder.role}: {powder.name}")
    say_table(
        "Recipe, mm from the core outward",
        ("zone and layers", "ΔE00", "expected", "doubt"),
        [
            (
                f"{zone.zone}: {_layers(zone, roles)}",
                f"{zone.delta_e00:.1f}",
                f"{zone.robust_delta_e00:.1f}",
                f"± {zone.difference_doubt_delta_e00:.1f}",
            )
            for zone in zones
        ],
    )
    say("Expected: with every inner boundary out by 0.05 mm.")
    for zone in (zone for zone in zones if not zone.reached):
        say("")
        say(f"{zone.zone}: {zone.verdict}, {zone.words}.")
        for limit in zone.limits:
            say(f"  limit, {limit.what}: {limit.words}")
        for choice in zone.choices:
            say(f"  choice: {choice}")
    _others(found)
    for note in found.notes:
        say(f"Look here: {note}")


def _lead(zones: tuple["ZoneRecipe", ...]) -> str:
    missed = [zone for zone in zones if not zone.reached]
    if not missed:
        return "Every target is within what most eyes can tell, as far as the model knows."
    told = ", ".join(
        f"{z.zone} {z.verdict} (ΔE00 {z.delta_e00:.1f} ± {z.difference_doubt_delta_e00:.1f})" for z in missed
    )
    return f"Not every target is reached: {told}."


def _others(found: "CrownRecipe") -> None:
    if not found.alternatives:
        return
    say_table(
        "Other sets of powders",
        ("", "worst ΔE00", "expected", "g", "price"),
        [
            (
                ", ".join(other.powders),
                f"{other.worst_delta_e00:.1f}",
                f"{other.robust_delta_e00:.1f}",
                f"{sum(p.powder_g for p in other.portions):.2f}",
                _price([(p.cost, p.currency) for p in other.portions]),
            )
            for other in found.alternatives
        ],
    )


def _layers(zone: "ZoneRecipe", roles: dict[str, str]) -> str:
    told = ", ".join(f"{roles[name]} {mm:.2f}" for name, mm in zone.layers_mm)
    return f"{told}, back to front" if zone.free else told


def _price(costs: list[tuple[float | None, str]]) -> str:
    """Sums by currency; a dash where a card has no price."""
    if any(cost is None for cost, _ in costs):
        return "-"
    sums: dict[str, float] = {}
    for cost, currency in costs:
        sums[currency] = sums.get(currency, 0.0) + (cost or 0.0)
    return ", ".join(f"{total:.2f} {currency}".strip() for currency, total in sums.items())
