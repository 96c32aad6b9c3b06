"""Teeth: names, sizes, axes, places in words, and the parametric generator."""

from firstbake.teeth.finding import find_frame
from firstbake.teeth.frame import Frame, Landmarks, Point
from firstbake.teeth.generator import GeneratedCrown, generate_crown
from firstbake.teeth.places import place_in_words, zone_of
from firstbake.teeth.rooms import Rooms, ThinSpot, usual_rooms
from firstbake.teeth.sizes import Sizes, usual_sizes
from firstbake.teeth.tooth import Tooth

__all__ = [
    "Frame",
    "GeneratedCrown",
    "Landmarks",
    "Point",
    "Rooms",
    "Sizes",
    "ThinSpot",
    "Tooth",
    "find_frame",
    "generate_crown",
    "place_in_words",
    "usual_rooms",
    "usual_sizes",
    "zone_of",
]
