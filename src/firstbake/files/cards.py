"""Powder and core cards: TOML files with a source and status for every figure."""

import hashlib
from pathlib import Path

from firstbake.errors import BadCard
from firstbake.files.card_optics import read_optics, read_reflectance
from firstbake.files.card_rules import (
    CORE_KEYS,
    CORE_NEEDED,
    CORE_RULES,
    CORE_THERMAL_NEEDED,
    FIRING_KEYS,
    FIRING_NUMBERS,
    FIRING_OPTIONAL,
    POWDER_KEYS,
    POWDER_NEEDED,
    POWDER_RULES,
    POWDER_THERMAL_NEEDED,
    THERMAL_RULES,
    Rule,
)
from firstbake.files.card_shelf import CardKind, cards_on_shelf, find_card
from firstbake.files.card_table import CardTable, read_table
from firstbake.powder import (
    CORE_KINDS,
    ROLES,
    CoreMaterial,
    Figure,
    MakerBake,
    Powder,
    layer_of_role,
    least_of_role,
    pore_liquid,
)

__all__ = ["CardKind", "cards_on_shelf", "digest_of", "find_card", "read_core", "read_powder"]


def digest_of(path: Path) -> str:
    """The sha256 of a file's bytes, as 64 hexadecimal digits.

    raises : BadCard when the file cannot be read
    """
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise BadCard(f"{path} cannot be read ({(error.strerror or '').lower()})") from error


def read_powder(path: Path) -> Powder:
    """Read a powder card.

    Left out, `least_mm`, `layer_mm` come from the role and `liquid_ml_per_g` from the green density.
    raises : BadCard, naming file, key and value, and what to do
    """
    card = read_table(path)
    card.only(POWDER_KEYS)
    if "kind" in card.content:
        raise card.fault("kind", "is for a core card; a powder card has a role")
    role = card.one_of("role", ROLES)
    card.need([*POWDER_NEEDED, "optics", "thermal"])
    figures = card.figures(POWDER_RULES)
    green, fired = figures.pop("green_relative_density"), figures.pop("fired_relative_density")
    if fired.value < green.value:
        raise card.fault(
            "fired_relative_density",
            f"is {fired.value:g}, less than green_relative_density {green.value:g}; "
            "porcelain grows denser when fired, check both values",
        )
    solid = figures.pop("solid_density_g_per_cm3")
    layer = figures.pop("layer_mm", layer_of_role(role))
    least = figures.pop("least_mm", least_of_role(role))
    if layer is not None and layer.value < least.value:
        raise card.fault(
            "layer_mm", f"is {layer.value:g} mm, less than least_mm {least.value:g} mm; check both"
        )
    currency, price = _price(card)
    return Powder(
        name=card.text("name") if "name" in card.content else path.stem,
        role=role,
        demo=card.flag("demo", default=False),
        green_relative_density=green,
        fired_relative_density=fired,
        solid_density_g_per_cm3=solid,
        optics=read_optics(card.table("optics")),
        thermal=_thermal(card, POWDER_THERMAL_NEEDED),
        least_mm=least,
        liquid_ml_per_g=figures.pop("liquid_ml_per_g", pore_liquid(green, solid)),
        layer_mm=layer,
        price_per_g=price,
        currency=currency,
        **figures,
    )


def read_core(path: Path) -> CoreMaterial:
    """Read the card of a core material.

    A metal needs [reflectance] (or the optics of an opaque body), every other kind needs [optics].
    raises : BadCard, naming file, key and value, and what to do
    """
    card = read_table(path)
    card.only(CORE_KEYS)
    kind = card.one_of("kind", CORE_KINDS)
    card.need([*CORE_NEEDED, "thermal"])
    figures = card.figures(CORE_RULES)
    least, usual = figures.pop("least_wall_mm"), figures.pop("usual_wall_mm")
    if usual.value < least.value:
        raise card.fault(
            "usual_wall_mm", f"is {usual.value:g}, less than least_wall_mm {least.value:g}; check both"
        )
    nm, reflectance, status, source = read_reflectance(card, kind)
    return CoreMaterial(
        name=card.text("name") if "name" in card.content else path.stem,
        kind=kind,
        demo=card.flag("demo", default=False),
        least_wall_mm=least,
        usual_wall_mm=usual,
        most_unsupported_mm=figures.pop("most_unsupported_mm"),
        thermal=_thermal(card, CORE_THERMAL_NEEDED),
        optics=read_optics(card.table("optics")) if "optics" in card.content else None,
        reflectance_nm=nm,
        reflectance=reflectance,
        reflectance_status=status,
        reflectance_source=source,
        firing=tuple(_maker_bake(step) for step in card.tables("firing")),
        holds=_holds(card),
        beryllium=_beryllium(card, kind),
        **figures,
    )


def _thermal(card: CardTable, needed: tuple[str, ...]) -> dict[str, Figure]:
    table = card.table("thermal")
    table.only(THERMAL_RULES)
    table.need(needed)
    return table.figures(THERMAL_RULES)


def _price(card: CardTable) -> tuple[str, Figure | None]:
    currency = card.text("currency") if "currency" in card.content else ""
    if "price_per_g" not in card.content:
        return currency, None
    if not currency:
        raise card.fault("currency", 'is missing; a card with a price names its currency, for example "EUR"')
    return currency, card.figure("price_per_g", Rule(f"{currency}/g", 0.0, 1e6))


def _holds(card: CardTable) -> tuple[str, ...]:
    found = card.content.get("holds", [])
    if not isinstance(found, list) or not all(isinstance(item, str) and item.strip() for item in found):
        raise card.fault("holds", 'must be a list of names in quotes, for example ["nickel", "cobalt"]')
    return tuple(item.strip().lower() for item in found)


def _beryllium(card: CardTable, kind: str) -> str:
    stated = card.one_of("beryllium", ("none", "not stated", "holds")) if "beryllium" in card.content else ""
    if stated == "holds" or "beryllium" in _holds(card):
        raise card.fault(
            "beryllium",
            "is in this alloy; its dust and fume cause lasting lung disease. Choose an alloy without it",
        )
    return stated or ("not stated" if kind == "metal" else "not asked")


def _maker_bake(step: CardTable) -> MakerBake:
    step.only(FIRING_KEYS)
    numbers = {key: step.bounded(key, rule) for key, rule in FIRING_NUMBERS.items()}
    more = {key: step.bounded(key, rule) for key, rule in FIRING_OPTIONAL.items() if key in step.content}
    peak = numbers["peak_degC"]
    low, high = more.pop("low_degC", peak), more.pop("high_degC", peak)
    if not low <= peak <= high:
        raise step.fault(
            "peak_degC", f"is {peak:g} degC, outside its own range {low:g} to {high:g} degC; check all three"
        )
    if numbers["dry_degC"] >= peak:
        raise step.fault("dry_degC", f"is {numbers['dry_degC']:g} degC, not under the peak; check both")
    if ("vacuum_from_degC" in more) != ("vacuum_to_degC" in more):
        raise step.fault(
            "vacuum_from_degC", "and vacuum_to_degC belong together; give both or, for air, neither"
        )
    for key in ("vacuum_from_degC", "vacuum_to_degC", "cool_to_degC"):
        if more.get(key, peak) > peak:
            raise step.fault(key, f"is {more[key]:g} degC, over the peak {peak:g} degC; check both")
    return MakerBake(
        bake=step.text("bake"),
        purpose=step.text("purpose"),
        dry_s=numbers["dry_s"],
        dry_degC=numbers["dry_degC"],
        climb_K_per_min=numbers["climb_K_per_min"],
        peak_degC=peak,
        hold_s=numbers["hold_s"],
        cool=step.text("cool"),
        status=step.status(),
        source=step.text("source"),
        low_degC=low,
        high_degC=high,
        vacuum_from_degC=more.get("vacuum_from_degC"),
        vacuum_to_degC=more.get("vacuum_to_degC"),
        cool_K_per_min=more.get("cool_K_per_min"),
        cool_to_degC=more.get("cool_to_degC"),
    )
