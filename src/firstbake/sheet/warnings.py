"""Warnings: what wants a choice, the gravest first, nothing said twice."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from firstbake.colour import ZoneColour
from firstbake.cooling import band_words, by_place
from firstbake.room import Region
from firstbake.sheet.cautions import known, one_line
from firstbake.sheet.lead import (
    ACCEPTED_DELTA_E00,
    LEAST_MISS_MM,
    not_reached,
    short_places,
    zone_word,
)
from firstbake.sheet.sheet import Warned
from firstbake.sheet.words import listed, number, sentence, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_CHOICES = 4  # so many other choices stand at one warning
_NAMED = 3  # so many places of one kind are named
_COLOUR = ("Colour,", "All zones")  # how crown begins a sentence on colour
# said by the drawings, in the lead, in the table of the recipe, or with their hazard
_ELSEWHERE = re.compile(
    r"^(The tooth's axes|Contour and core come from calliper sizes|Room not measured|Recipe, )"
    r"|do not belong together|^Cooling, "
)
_CARDS = re.compile(r"(?<=nvented optics) \([^)]*\)")  # the cards stand among the lots
_NEEDLESS = re.compile(
    r" \(least wall [^)]*\)| at the [a-z]+, [a-z]+ third$| of the preparation"
)  # said in the steps, in the place
_FOR_DENTIST = ("reduction", "dentist")


def warned(plan: Plan) -> tuple[Warned, ...]:
    """Everything that wants a choice: pair, room, layers, support, colour, the rest; specks in one line."""
    room, found = plan.room, known(plan.case.core_material, plan.case.powders)
    told = [Warned(one_line(found["expansion"]))] if "expansion" in found else []
    conflicts = list(plan.layers.conflicts)
    for place in short_places(room):
        numbers = np.concatenate([region.vertices for region in place])
        same = [c for c in conflicts if c.where == place[0].where or np.intersect1d(c.vertices, numbers).size]
        conflicts = [c for c in conflicts if all(c is not s for s in same)]
        told.append(_thin(plan, place, same))
    big = [c for c in conflicts if c.depth_mm >= LEAST_MISS_MM]
    told += _grouped(plan, "Least dentine and least enamel do not both fit", big)
    far = [r for r in room.unsupported if r.depth_mm >= LEAST_MISS_MM]
    told += _grouped(plan, "Porcelain without support", far)
    told += _cooling(plan)
    told += _colours(plan)
    told += [
        Warned(sentence(words))
        for words in dict.fromkeys(plan.warnings)
        if not words.startswith(_COLOUR) and not _ELSEWHERE.search(words)
    ]
    return (*told, *_specks(plan))


def _cooling(plan: Plan) -> list[Warned]:
    """Places that may crack as the crown cools, in one line; the sums stand in plan.json."""
    places = by_place(plan.cooling.risks) if plan.cooling is not None else ()
    if not places:
        return []
    named = [f"{place[0].where} ({band_words(place[0])})" for place in places[:_NAMED]]
    helps = dict.fromkeys(h.words for place in places for risk in place for h in risk.helps)
    text = f"May crack as it cools: {'; '.join(named)}."
    if not helps:
        return [Warned(text)]
    return [Warned(text, assumed="cool as the programme says", bench=tuple(helps)[:_CHOICES])]


def colour_notes(plan: Plan) -> tuple[str, ...]:
    """Where the prediction is weak, one sentence for each zone and one for all."""
    grouped: dict[str, list[str]] = {}
    for words in dict.fromkeys(w for w in plan.warnings if w.startswith(_COLOUR)):
        head, _, rest = words.removeprefix("Colour, ").partition(": ")
        grouped.setdefault(head, []).append(sentence(_CARDS.sub("", rest)))
    edge = plan.case.tooth.edge_word
    weak = tuple(
        f"{zone_word(head.removesuffix(' zone'), edge).capitalize()}: {' '.join(rest)}"
        for head, rest in grouped.items()
    )
    return (*weak, *_read_notes(plan))


def _read_notes(plan: Plan) -> tuple[str, ...]:
    """What was assumed or converted in reading the target colours; zones of one note share a sentence."""
    zones: dict[str, list[str]] = {}
    for zone, note in plan.case.target.notes.items():
        zones.setdefault(note, []).append(zone_word(zone, plan.case.tooth.edge_word))
    return tuple(sentence(f"Wanted {listed(names)}: {note}") for note, names in zones.items())


def _spot(region: Region) -> str:
    return f"{with_unit(region.worst_mm, 2, 'mm')}, {region.where}, {with_unit(region.area_mm2, 1, 'mm²')}"


def _thin(plan: Plan, regions: list[Region], conflicts: Sequence[Region]) -> Warned:
    """The thin spots of one place, with the choices about layers where these do not fit there either."""
    worst = regions[0]
    if worst.worst_mm < 0:
        text = f"Core stands out of the wanted contour: {_spot(worst)}."
    else:
        others = f"; {len(regions) - 1} more spot{'s' if len(regions) > 2 else ''} there"
        under = f"{with_unit(worst.depth_mm, 2, 'mm')} under the limit"
        text = f"Room is short: {_spot(worst)}, {under}{others if len(regions) > 1 else ''}."
    more = [choice for conflict in conflicts for choice in conflict.choices]
    tooth = plan.case.tooth
    send = (
        f"{plan.case.code}, {tooth.number}: {with_unit(max(worst.worst_mm, 0.0), 2, 'mm')} for porcelain "
        f"{worst.where}. May {with_unit(worst.depth_mm, 2, 'mm')} more come off, or is thin accepted?"
    )
    return _sorted(text, _plain(plan, (*worst.choices, *more)), otherwise="accept it thin", send=send)


def _plain(plan: Plan, choices: Sequence[str]) -> list[str]:
    """Choices in the words of the bench; of two that begin alike the first."""
    roles = {layer.powder.role for layer in plan.layers.layers}
    found: dict[str, str] = {}
    for choice in choices:
        if choice.startswith("leave out the coats") and "opaque" in roles:
            continue  # the metal would show
        words = _NEEDLESS.sub("", choice.replace("the coats", "the liner"))
        words = words.replace("its card allows", "its maker allows").replace("ask the dentist for", "ask for")
        found.setdefault(" ".join(words.split()[:2]).rstrip(":"), words)
    return list(found.values())


def _sorted(text: str, choices: Sequence[str], *, otherwise: str, send: str = "") -> Warned:
    """The choices by who decides; the numbers assume that it is accepted, in the plan's own words if any."""
    accepted = [c for c in choices if c.startswith("accept")]
    accepted.sort(key=lambda words: "the plan puts" not in words)
    rest = [c for c in choices if not c.startswith("accept")]
    dentist = tuple(c for c in rest if any(word in c for word in _FOR_DENTIST))
    bench = tuple(c for c in rest if c not in dentist)[:_CHOICES]
    assumed = re.sub(r" here$", "", next(iter(accepted), otherwise))
    return Warned(text, assumed, bench, dentist, send if dentist else "")


def _grouped(plan: Plan, what: str, regions: list[Region]) -> list[Warned]:
    """One warning for all places of a kind, with the choices of the worst."""
    if not regions:
        return []
    worst = sorted(regions, key=lambda region: -region.depth_mm)
    spots = "; ".join(_spot(region) for region in worst[:_NAMED])
    more = f"; and {len(worst) - _NAMED} more" if len(worst) > _NAMED else ""
    choices = _plain(plan, worst[0].choices)
    return [_sorted(f"{what}: {spots}{more}.", choices, otherwise="build it as drawn")]


def _colours(plan: Plan) -> list[Warned]:
    """One warning for the zone whose colour is farthest off, where that can be seen."""
    known_zones = [z for z in plan.colour if (z.delta_e00 or 0.0) > ACCEPTED_DELTA_E00]
    if not known_zones:
        return []
    worst = max(known_zones, key=lambda z: z.delta_e00 or 0.0)
    zone, delta = zone_word(worst.zone, plan.case.tooth.edge_word), worst.delta_e00 or 0.0
    missed = (
        "; not reached with these powders" if not_reached(delta, worst.difference_doubt_delta_e00) else ""
    )
    text = f"Colour: {zone} {worst.words}, ΔE00 {number(delta, 1)}{missed}."
    lighter = worst.target is not None and worst.lab[0] > worst.target[0]
    other = "darker" if lighter else "lighter"
    stain = "stain at the glaze: it can darken" if lighter else "no stain: it does not lighten"
    send = f"{plan.case.code}, {plan.case.tooth.number}: the {zone} comes {worst.words}. May it stay so?"
    bench = (f"take a {other} dentine", stain) if lighter else (f"take a {other} dentine or more room",)
    return [Warned(text, "accept the colour", bench, (_may(zone, worst),), send)]


def _may(zone: str, worst: ZoneColour) -> str:
    way = "lighter" if worst.target is not None and worst.lab[0] > worst.target[0] else "darker"
    return f"ask whether the {zone} may be {way}"


def _specks(plan: Plan) -> list[Warned]:
    """All misses that a calliper cannot tell, in one line without choices."""
    regions = (*plan.room.thin, *plan.room.unsupported, *plan.layers.conflicts)
    specks = [r for r in regions if r.depth_mm < LEAST_MISS_MM and r.worst_mm >= 0]
    if not specks:
        return []
    places = dict.fromkeys(r.where for r in specks)
    words = (
        f"Off its limit by less than {with_unit(LEAST_MISS_MM, 2, 'mm')}: {'; '.join(places)}. Nothing to do."
    )
    return [Warned(words)]
