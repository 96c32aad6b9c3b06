"""Cautions: one line at the step where it matters, each shown once; the others at the foot of the sheet."""

import re

from firstbake.firing import Programme, cautions_for
from firstbake.powder import CoreMaterial, Powder

_DOI = re.compile(r", doi [^\s)]+")
_LINE = 125  # characters that stand on one or two lines of the steps

# Common practice of the trade; the rest comes from the firing room with its sources.
POWDER = "Powder dust holds silica: wipe wet, never blow; no steel on the slab.*"
EYES = "Eye shield; grind wet or with suction.*"
STAIN = "Use only stains whose maker states what is in them.*"
INFECTION = "Tried-in work and impressions are infectious until recorded clean.*"
WET = "Nothing wet goes into a hot furnace: dry in front of it first; tongs, face away from the muffle.*"

_CORE_HAZARDS = (
    "beryllium",
    "nickel",
    "hydrofluoric acid",
    "zirconia surface",
    "silica dust",
    "ceramic dust",
)
_GRIND_HAZARDS = ("ceramic dust", "silica dust", "eyes")


def one_line(caution: str) -> str:
    """The caution for paper: no doi, and no source in brackets at its end where that makes it too long."""
    text = _DOI.sub("", caution.strip()).replace(" (usual precaution)", "*")
    text = text.replace(" (from memory, unverified)", "*").replace(" (common practice)", "*")
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
    found = {c.hazard: f"{c.sentence} ({c.source})" for c in cautions_for(core, powders)}
    found.pop("planning aid", None)  # stands at the foot of every page
    return found


def for_core(found: dict[str, str]) -> tuple[str, ...]:
    """Candidates for the step that prepares the core, the gravest first."""
    return tuple(found[hazard] for hazard in _CORE_HAZARDS if hazard in found)


def for_grinding(found: dict[str, str]) -> tuple[str, ...]:
    """Candidates for the step that grinds fired porcelain."""
    return (*(found[hazard] for hazard in _GRIND_HAZARDS if hazard in found), EYES)


def for_dispatch(found: dict[str, str]) -> tuple[str, ...]:
    """Candidates for the last step."""
    return tuple(found[hazard] for hazard in ("steam jet", "hydrofluoric acid") if hazard in found)


def for_bake(programme: Programme) -> tuple[str, ...]:
    """Candidates for one bake: wet work first, then those that fit on a line, else as in the programme."""
    if programme.dry_s > 0 and programme.bake != "oxidise":
        return (WET,)
    return tuple(sorted(programme.cautions, key=lambda text: len(one_line(text)) > _LINE))


def at_the_foot(found: dict[str, str], firing: tuple[Programme, ...], shown: set[str]) -> tuple[str, ...]:
    """Every caution that no step shows, once, with its source where that is short."""
    lines = [*found.values(), *(caution for p in firing for caution in p.cautions)]
    said: tuple[str, ...] = (("Nothing wet goes", "A hot piece looks cold") if WET in shown else ()) + (
        ("Impressions and",) if INFECTION in shown else ()
    )
    return tuple(
        line
        for line in dict.fromkeys(map(one_line, lines))
        if line not in shown and not line.startswith(said)
    )
