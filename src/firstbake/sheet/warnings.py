"""Warnings: what wants a choice, the gravest first, nothing said twice."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from firstbake.room import Region
from firstbake.sheet.lead import counted
from firstbake.sheet.sheet import Warned
from firstbake.sheet.words import sentence, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_CHOICES = 5  # so many choices stand at one warning
_TIGHT_MM = 0.03  # an overlap that seating and grinding take up; our own choice, no published source
_NAMED = 3  # so many places of one kind are named

_COLOUR = ("Colour,", "All zones")  # how crown begins a sentence on colour


def warned(plan: Plan) -> tuple[Warned, ...]:
    """Everything that wants a choice: room, layers, support, contacts, bite, colour, the rest."""
    room, layers = plan.room, plan.layers
    thin, loose = counted(room.thin), counted(room.unsupported)
    places = {region.where for region in room.thin}
    found = [_thin(some, layers.conflicts) for some in _by_place(thin)]
    apart = counted([region for region in layers.conflicts if region.where not in places])
    found += _grouped("Least dentine and least enamel do not both fit", apart)
    found += _grouped("Porcelain without support", loose)
    specks = len(room.thin) + len(room.unsupported) - len(thin) - len(loose)
    if specks:
        found.append(Warned(f"{specks} more place{'s' if specks > 1 else ''} within 0.05 mm of a limit.", ()))
    found += [
        Warned(
            f"The wanted contour stands {with_unit(-c.gap_mm, 2, 'mm')} into the {c.side} neighbour.",
            (
                "check the position of the scans",
                "take the overlap off the contour",
                "grind it in at the contact",
            ),
        )
        for c in room.contacts
        if c.gap_mm < -_TIGHT_MM
    ]
    found += [
        Warned(
            f"The opposing tooth stands {with_unit(-c.least_mm, 2, 'mm')} into the contour, {c.where}.", ()
        )
        for c in room.clearance
        if c.least_mm < 0
    ]
    told = [sentence(warning) for warning in dict.fromkeys(plan.warnings)]
    colour = [words for words in told if words.startswith(_COLOUR)]
    if colour:
        found.append(Warned(" ".join(colour), ()))
    found += [Warned(words, ()) for words in told if words not in colour]
    return tuple(found)


def _worst_first(regions: Sequence[Region]) -> list[Region]:
    return sorted(regions, key=lambda region: -region.depth_mm)


def _spot(region: Region) -> str:
    return f"{with_unit(region.worst_mm, 2, 'mm')}, {region.where}, {with_unit(region.area_mm2, 1, 'mm²')}"


def _by_place(regions: Sequence[Region]) -> list[list[Region]]:
    """Regions of one place in words together, worst first."""
    places: dict[str, list[Region]] = {}
    for region in _worst_first(regions):
        places.setdefault(region.where, []).append(region)
    return list(places.values())


def _thin(regions: list[Region], conflicts: Sequence[Region]) -> Warned:
    """The thin spots of one place, with the choices about layers where these do not fit there either."""
    worst = regions[0]
    if worst.worst_mm < 0:
        text = f"Core stands out of the wanted contour: {_spot(worst)}."
    else:
        others = f"; {len(regions) - 1} more spot{'s' if len(regions) > 2 else ''} there"
        under = f"{with_unit(worst.depth_mm, 2, 'mm')} under the limit"
        text = f"Room is short: {_spot(worst)}, {under}{others if len(regions) > 1 else ''}."
        text += " The numbers assume thin layers."
    first_words = {choice.split()[0] for choice in worst.choices}
    more = [
        choice
        for conflict in conflicts
        if conflict.where == worst.where
        for choice in conflict.choices
        if choice.split()[0] not in first_words
    ]
    return Warned(text, (*worst.choices, *more)[:_CHOICES])


def _grouped(what: str, regions: list[Region]) -> list[Warned]:
    """One warning for all places of a kind, with the choices of the worst."""
    if not regions:
        return []
    worst = _worst_first(regions)
    spots = "; ".join(_spot(region) for region in worst[:_NAMED])
    more = f"; and {len(worst) - _NAMED} more" if len(worst) > _NAMED else ""
    return [Warned(f"{what}: {spots}{more}.", worst[0].choices[:_CHOICES])]
