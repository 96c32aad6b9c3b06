"""Room: how much place there is for porcelain, and where it is short."""

from firstbake.room.room import Clearance, Contact, Region, Room

__all__ = ["Clearance", "Contact", "Region", "Room"]
