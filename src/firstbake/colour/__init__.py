"""Colour: what the layers look like over this core and stump."""

from firstbake.colour.zone import ZoneColour

__all__ = ["ZoneColour"]
