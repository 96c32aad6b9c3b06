"""Tables: the rows for callipers, mix, firing and colour."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from firstbake.colour import ZoneColour, name_of, srgb_from_lab
from firstbake.firing import Programme, temperature_curve
from firstbake.sheet.lead import zone_word
from firstbake.sheet.measures import letter_of
from firstbake.sheet.sheet import CalliperRow, ColourRow, FiringRow, Lab, MixRow
from firstbake.sheet.words import (
    minutes,
    number,
    sentence,
    with_unit,
)

if TYPE_CHECKING:
    from firstbake.crown import Plan


_SHARED = ("opaque-dentine", "dentine", "enamel", "transparent")


def calliper_rows(plan: Plan) -> tuple[CalliperRow, ...]:
    """The calliper table, each row with its letter."""
    return tuple(
        CalliperRow(
            letter_of(row), c.name, c.green_mm, c.fired_mm, c.finished_mm, c.doubt_mm, "overbuild" in c.name
        )
        for row, c in enumerate(plan.callipers)
    )


def mix_rows(plan: Plan) -> tuple[MixRow, ...]:
    """What to weigh and what it costs."""
    return tuple(
        MixRow(m.powder, m.role, m.powder_g, m.lay_g, m.placed_g, m.cost, m.currency) for m in plan.mix
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
        dry=f"{minutes(p.dry_s)} at {with_unit(p.dry_degC, 0, '°C')}" if p.dry_s > 0 else "no drying",
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
    """Minutes and degC at the corners of the programme."""
    time_s, degC = temperature_curve(p)
    return tuple((float(t) / 60, float(c)) for t, c in zip(time_s, degC, strict=True))


def colour_rows(plan: Plan) -> tuple[ColourRow, ...]:
    """The colour table, gum to edge."""
    roles = {layer.powder.name: layer.powder.role for layer in plan.layers.layers}
    roles[plan.case.core_material.name] = "core"
    counts = Counter(roles.values())
    short = {name: role if counts[role] == 1 else name for name, role in roles.items()}
    edge = plan.case.tooth.edge_word
    return tuple(
        _colour(zone, name=zone_word(zone.zone, edge), stack=_stack(zone, short, roles))
        for zone in plan.colour
    )


def _stack(z: ZoneColour, short: dict[str, str], roles: dict[str, str]) -> str:
    """The layers in words; for the body the shares of its powders, at a free edge the direction."""
    told = [f"{short.get(name, name)} {number(thick, 2)}" for name, thick in z.stack_mm]
    shared = [thick for name, thick in z.stack_mm if roles.get(name) in _SHARED]
    names = [name for name, _ in z.stack_mm]
    if len(set(names)) < len(names):
        return f"{', '.join(told)}, back to front"
    if z.zone != "body" or len(shared) < 2:
        return ", ".join(told)
    parts = ":".join(number(100 * thick / sum(shared), 0) for thick in shared)
    return f"{', '.join(told)} ({parts})"


def _colour(z: ZoneColour, *, name: str, stack: str) -> ColourRow:
    return ColourRow(
        zone=name,
        target=z.target,
        target_words="" if z.target is None else name_of(z.target),
        target_srgb=None if z.target is None else _preview(z.target),
        expected=z.lab,
        expected_words=name_of(z.lab),
        expected_srgb=z.srgb,
        delta_e00=z.delta_e00,
        doubt_delta_e00=z.difference_doubt_delta_e00,
        words=" ".join(filter(None, (sentence(z.words), sentence(z.metamerism_words)))),
        stack=stack,
    )


def _preview(lab: Lab) -> tuple[float, float, float]:
    red, green, blue = srgb_from_lab(np.array(lab)).tolist()
    return red, green, blue
