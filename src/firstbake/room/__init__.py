"""Room: how much place there is for porcelain, and where it is short."""

from firstbake.room.contacts import neighbour_bodies
from firstbake.room.measure import measure_room, veneer_volume
from firstbake.room.regions import Choices, Spot, regions_of
from firstbake.room.room import Clearance, Contact, Region, Room
from firstbake.room.shells import Shells, find_shells
from firstbake.room.thickness import thickness_at

__all__ = [
    "Choices",
    "Clearance",
    "Contact",
    "Region",
    "Room",
    "Shells",
    "Spot",
    "find_shells",
    "measure_room",
    "neighbour_bodies",
    "regions_of",
    "thickness_at",
    "veneer_volume",
]
