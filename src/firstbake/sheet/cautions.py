"""Cautions: each tied by its hazard to the one step where it matters; the rest at the foot of the sheet."""

from __future__ import annotations

import re
from collections.abc import Sequence

from firstbake.firing import Programme, cautions_for, cooling_of
from firstbake.powder import CoreMaterial, Powder

_DOI = re.compile(r",? ?\bdoi [^\s);]+")
_LINE = 125  # characters that stand on one or two lines of the steps
_NO_SOURCE = ("usual precaution", "common practice", "from memory, unverified")
FOOTNOTE = "* usual precaution or from memory, no published source"

# Common practice of the trade; the rest comes from the firing room with its sources.
POWDER = "Powder dust is silica: wipe wet (usual precaution)."
TOOL = "No steel on the slab (usual precaution)."

# Step -> hazards of the firing room that matter there. Silica moves to the first dry work of the core's kind.
_AT_STEP = {
    "receive": ("infection", "nickel", "cobalt", "beryllium"),
    "core": ("hydrofluoric acid", "zirconia surface"),
    "metal core": ("silica dust",),
    "any bake": ("hot furnace",),
    "wet bake": ("steam",),
    "grind": ("ceramic dust", "eyes"),
    "correction": ("repeated firing",),
    "glaze": ("pigments",),
    "firing table": ("furnace drift",),
    "elsewhere": ("planning aid", "expansion"),  # at the foot of every page, and among the warnings
}
_ALLERGENS = ("nickel", "cobalt")


def one_line(caution: str) -> str:
    """The caution for paper: * for one without a published source; no doi, no source that makes it long."""
    text = _DOI.sub("", caution.strip())
    for words in _NO_SOURCE:
        for ending in (f" ({words}).", f" ({words})"):
            if text.endswith(ending):
                return text.removesuffix(ending).rstrip(".") + ".*"
    if len(text) <= _LINE or not text.endswith(")"):
        return text
    depth = 0
    for place in range(len(text) - 1, -1, -1):
        depth += {")": 1, "(": -1}.get(text[place], 0)
        if depth == 0:
            return text[:place].strip()
    return text


def known(core: CoreMaterial, powders: tuple[Powder, ...]) -> dict[str, str]:
    """Caution with its source by hazard, for this core and these powders."""
    return {c.hazard: f"{c.sentence} ({c.source})" for c in cautions_for(core, powders)}


def at_step(step: str, found: dict[str, str]) -> tuple[str, ...]:
    """The cautions of one step, as lines."""
    return tuple(one_line(found[hazard]) for hazard in _AT_STEP[step] if hazard in found)


def asked_of(found: dict[str, str]) -> tuple[str, ...]:
    """Questions about allergy for the metals that are known to cause it."""
    return tuple(f"{metal.capitalize()}: allergy asked?" for metal in _ALLERGENS if metal in found)


def own_of(programme: Programme, core: CoreMaterial, powders: tuple[Powder, ...]) -> tuple[str, ...]:
    """The cautions of one bake that no hazard and no cooling names, as lines."""
    others = {*known(core, powders).values(), *cooling_of(core, powders).cautions}
    return tuple(one_line(text) for text in programme.cautions if text not in others)


def cooling_line(firing: Sequence[Programme], core: CoreMaterial) -> str:
    """How to cool, once for all bakes, and that the papers disagree where they do."""
    said = [p.cool.strip().rstrip(".") for p in firing]
    lower = [f"{words[:1].lower()}{words[1:]}" for words in dict.fromkeys(said)]
    if len(lower) != 1:
        told = "; ".join(
            f"{p.bake} {words[:1].lower()}{words[1:]}" for p, words in zip(firing, said, strict=True)
        )
        return f"Cooling: {told}."
    if core.firing:
        return f"Cooling by the maker: {lower[0]}."
    doubt = "; papers disagree" if core.kind == "zirconia" else ""
    return f"Maker's cooling. None given: {lower[0]}{doubt}."


def at_the_foot(found: dict[str, str], *, metal: bool) -> tuple[str, ...]:
    """Every caution whose hazard is tied to no step of this core."""
    tied = {hazard for hazards in _AT_STEP.values() for hazard in hazards}
    shown = {*tied} - ({"silica dust"} if not metal else set())
    return tuple(one_line(text) for hazard, text in found.items() if hazard not in shown)
