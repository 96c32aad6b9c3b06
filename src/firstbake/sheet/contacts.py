"""Contacts: how each neighbour stands, and what the wet build adds there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstbake.sheet.words import bench_mm, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_TOUCHING_MM = 0.02  # said to touch up to this gap; a calliper does not read it (chosen here)


def wet_overbuilds(plan: Plan) -> dict[str, float]:
    """Overbuild of the wet contour at each contact by side, mm."""
    end = " contact overbuild"
    return {c.name.removesuffix(end): c.green_mm for c in plan.callipers if c.name.endswith(end)}


def contact_words(plan: Plan) -> str:
    """One sentence on the contacts as scanned, and on those left open."""
    if not plan.room.contacts:
        return "Contacts not known: no neighbours were given, so nothing extra is built there."
    wet, said = wet_overbuilds(plan), []
    for contact in plan.room.contacts:
        gap = contact.gap_mm
        if gap > _TOUCHING_MM:
            words = f"{contact.side} {with_unit(gap, 2, 'mm')} open"
        elif gap < -_TOUCHING_MM:
            words = f"{contact.side} {with_unit(-gap, 2, 'mm')} into the neighbour"
        else:
            words = f"{contact.side} touches"
        said.append(words if contact.side in wet else f"{words}, left open: ask if that is wanted")
    return f"Wanted contour: {'; '.join(said)}."


def wet_amount(plan: Plan) -> str:
    """ "+0.7 / 0.7 mm": what to add wet, mesial and distal."""
    wet = wet_overbuilds(plan)
    if not wet:
        return ""
    return f"+{' / '.join(bench_mm(wet[side]) for side in sorted(wet, reverse=True))} mm"
