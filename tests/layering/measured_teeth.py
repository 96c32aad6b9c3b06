"""What the fixtures hand out."""

from dataclasses import dataclass

from firstbake.case import Case
from firstbake.room import Room
from firstbake.teeth import Frame


@dataclass(frozen=True, eq=False)
class Measured:
    case: Case
    frame: Frame
    room: Room
