"""Tables: the rows for callipers, mix, firing, colour, warnings and lots."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstbake.colour import ZoneColour
from firstbake.firing import Programme
from firstbake.room import Region
from firstbake.sheet.measures import letter_of
from firstbake.sheet.sheet import CalliperRow, ColourRow, FiringRow, MixRow, Warned
from firstbake.sheet.words import (
    NARROW,
    colour_words,
    minutes,
    number,
    preview,
    sentence,
    with_unit,
)

if TYPE_CHECKING:
    from firstbake.crown import Plan

_ROOM_degC = 25.0  # where the drawn curve begins; for the picture only
_CLOSE_K_per_min = 100.0  # slope of the drawn line up to the drying temperature; for the picture only


def calliper_rows(plan: Plan) -> tuple[CalliperRow, ...]:
    """The calliper table, each row with its letter."""
    return tuple(
        CalliperRow(letter_of(row), c.name, c.green_mm, c.fired_mm, c.doubt_mm)
        for row, c in enumerate(plan.callipers)
    )


def mix_rows(plan: Plan) -> tuple[MixRow, ...]:
    """The mix table."""
    return tuple(
        MixRow(
            m.powder,
            m.role,
            m.powder_g,
            m.placed_g,
            m.liquid_ml,
            "" if m.cost is None else f"{number(m.cost, 2)}{NARROW}{m.currency}".strip(),
        )
        for m in plan.mix
    )


def firing_rows(plan: Plan) -> tuple[FiringRow, ...]:
    """The firing table in the order of the bakes."""
    return tuple(_firing(programme) for programme in plan.firing)


def _firing(p: Programme) -> FiringRow:
    vacuum = None
    if p.vacuum_from_degC is not None and p.vacuum_to_degC is not None:
        vacuum = (p.vacuum_from_degC, p.vacuum_to_degC)
    return FiringRow(
        bake=p.bake,
        purpose=sentence(p.purpose),
        dry=f"{minutes(p.dry_s)} at {with_unit(p.dry_degC, 0, '°C')}",
        climb=number(p.climb_K_per_min, 0),
        vacuum="none" if vacuum is None else f"{vacuum[0]:.0f} to {vacuum[1]:.0f}",
        peak_degC=p.peak_degC,
        low_degC=p.low_degC,
        high_degC=p.high_degC,
        hold=minutes(p.hold_s),
        cool=p.cool,
        source=f"{p.status}: {p.source}",
        curve=_curve(p),
        vacuum_degC=vacuum,
    )


def _curve(p: Programme) -> tuple[tuple[float, float], ...]:
    """Minutes and degC from the cold furnace through drying and climb to the end of the hold."""
    points = [(0.0, _ROOM_degC)]
    for minutes_more, degC in (
        (max(p.dry_degC - _ROOM_degC, 0) / _CLOSE_K_per_min, p.dry_degC),
        (p.dry_s / 60, p.dry_degC),
        (max(p.peak_degC - p.dry_degC, 0) / max(p.climb_K_per_min, 1.0), p.peak_degC),
        (p.hold_s / 60, p.peak_degC),
    ):
        points.append((points[-1][0] + minutes_more, degC))
    return tuple(points)


def colour_rows(plan: Plan) -> tuple[ColourRow, ...]:
    """The colour table, gum to edge."""
    return tuple(_colour(zone) for zone in plan.colour)


def _colour(z: ZoneColour) -> ColourRow:
    return ColourRow(
        zone=z.zone,
        target=z.target,
        target_words="" if z.target is None else colour_words(z.target),
        target_srgb=None if z.target is None else preview(z.target),
        expected=z.lab,
        expected_words=colour_words(z.lab),
        expected_srgb=z.srgb,
        delta_e00=z.delta_e00,
        doubt_delta_e00=z.doubt_delta_e00,
        words=sentence(z.words),
        stack=", ".join(f"{name} {number(thick, 2)}" for name, thick in z.stack_mm),
    )


def warned(plan: Plan) -> tuple[Warned, ...]:
    """Everything that wants a choice, the gravest first: room, layers, contacts, bite, colour, the rest."""
    found = [_short(region) for region in plan.room.thin]
    found += [_long(region) for region in plan.room.unsupported]
    found += [
        Warned(f"Least dentine and least enamel do not both fit: {_spot(region)}.", region.choices)
        for region in plan.layers.conflicts
    ]
    found += [
        Warned(
            f"The wanted contour stands {with_unit(-c.gap_mm, 2, 'mm')} into the {c.side} neighbour "
            f"({with_unit(c.overlap_mm3, 2, 'mm³')}).",
            ("check the bite and the position of the scans", "take the overlap off the wanted contour"),
        )
        for c in plan.room.contacts
        if c.gap_mm < 0
    ]
    found += [
        Warned(
            f"The opposing tooth stands {with_unit(-c.least_mm, 2, 'mm')} into the contour, {c.where}.", ()
        )
        for c in plan.room.clearance
        if c.least_mm < 0
    ]
    found += [
        Warned(f"Colour, {zone.zone}: {sentence(weak)}", ()) for zone in plan.colour for weak in zone.weak
    ]
    known = {w.sentence for w in found}
    found += [Warned(sentence(w), ()) for w in plan.warnings if sentence(w) not in known]
    return tuple(found)


def _spot(region: Region) -> str:
    return f"{with_unit(region.worst_mm, 2, 'mm')}, {region.where}, {with_unit(region.area_mm2, 1, 'mm²')}"


def _short(region: Region) -> Warned:
    if region.worst_mm < 0:
        text = f"Core stands out of the wanted contour: {_spot(region)}."
    else:
        text = f"Room is short: {_spot(region)}, {with_unit(region.depth_mm, 2, 'mm')} under the limit."
    return Warned(text, region.choices)


def _long(region: Region) -> Warned:
    text = (
        f"Porcelain without support: {_spot(region)}, {with_unit(region.depth_mm, 2, 'mm')} over the limit."
    )
    return Warned(text, region.choices)
