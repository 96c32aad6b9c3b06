"""Contacts and bite: how they stand, what is built there, and what has to be decided."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstbake.room import Clearance, Contact
from firstbake.sheet.sheet import ContactRow
from firstbake.sheet.words import bench_mm, with_unit

if TYPE_CHECKING:
    from firstbake.crown import Plan

_TIGHT_MM = 0.03  # an overlap that seating and grinding take up; our own choice, no published source
_TOUCHES_MM = 0.05  # a gap that a bench calliper does not tell
_OPEN = ("close it: move the contour, plan again", "left open on purpose")


def wet_extras(plan: Plan) -> dict[str, float]:
    """Green overbuild at each contact that is built over, by side, mm."""
    ending = " contact overbuild"
    return {c.name.removesuffix(ending): c.green_mm for c in plan.callipers if c.name.endswith(ending)}


def contact_rows(plan: Plan) -> tuple[ContactRow, ...]:
    """One row for each side, then the bite."""
    built = wet_extras(plan)
    found = sorted(plan.room.contacts, key=lambda c: c.side != "mesial")
    rows = [_contact(c, plan.case.allowances.contact_mm, built) for c in found]
    sides = {c.side for c in found}
    if not sides:
        rows.append(ContactRow("Contacts not known: no neighbours given. No extra is built there."))
    else:
        rows += [
            ContactRow(f"{side.capitalize()} not known: no neighbour given, no extra is built.")
            for side in ("mesial", "distal")
            if side not in sides
        ]
    rows += [_bite(plan, c) for c in plan.room.clearance]
    if not plan.room.clearance:
        rows.append(ContactRow("Bite not known: no opposing teeth given."))
    return tuple(rows)


def _contact(c: Contact, extra_mm: float, built: dict[str, float]) -> ContactRow:
    side, gap = c.side.capitalize(), with_unit(abs(c.gap_mm), 2, "mm")
    if c.side not in built:
        return ContactRow(f"{side} {gap} open, no extra is built: close it, or left open on purpose?", _OPEN)
    wet = f"build to +{bench_mm(built[c.side])}, wet"
    if c.gap_mm < -_TIGHT_MM:
        ways = ("check the scans", "take the overlap off the contour", "grind it in")
        return ContactRow(f"{side} stands {gap} into the neighbour; {wet}.", ways)
    if c.gap_mm <= _TOUCHES_MM:
        return ContactRow(f"{side} touches ({gap} {'open' if c.gap_mm >= 0 else 'over'}); {wet}.")
    left = c.gap_mm - extra_mm
    after = f"stays {with_unit(left, 2, 'mm')} open" if left > _TOUCHES_MM else "the extra closes it"
    return ContactRow(f"{side} {gap} open; {wet}; {after}.", _OPEN if left > _TOUCHES_MM else ())


def _bite(plan: Plan, c: Clearance) -> ContactRow:
    """Clearance as wanted, and how far the wet build stands into the bite at that place."""
    if c.least_mm < 0:
        deep = with_unit(-c.least_mm, 2, "mm")
        return ContactRow(f"Bite: the opposing tooth stands {deep} into the wanted contour, {c.where}.")
    surface = plan.case.contour.surface
    vertex = int(np.argmin(np.linalg.norm(surface.vertices_mm - c.at_mm, axis=1)))
    over = float(plan.green.overbuild_mm[vertex]) - c.least_mm
    wet = f" Wet, it stands about {with_unit(over, 1, 'mm')} into the bite." if over > _TOUCHES_MM else ""
    return ContactRow(f"Bite: {with_unit(c.least_mm, 2, 'mm')} free, {c.where}.{wet}")
