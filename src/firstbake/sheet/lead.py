"""Lead: the one sentence that matters."""

from firstbake.room import Room
from firstbake.sheet.words import with_unit


def lead_of(room: Room) -> str:
    """The state of the room in one sentence, worst place first."""
    if not room.thin:
        return "Room is enough everywhere."
    worst = min(room.thin, key=lambda region: region.worst_mm)
    count = len(room.thin)
    if worst.worst_mm < 0:
        out = f"The core stands out by {with_unit(-worst.worst_mm, 2, 'mm')}, {worst.where}"
        rest = count - 1
        more = "" if rest == 0 else f"; short in {rest} more place{'s' if rest > 1 else ''}"
        return f"{out}{more}."
    spot = f"{with_unit(worst.worst_mm, 2, 'mm')}, {worst.where}"
    if count == 1:
        return f"Room is short in one place: {spot}."
    return f"Room is short in {count} places, least {spot}."
