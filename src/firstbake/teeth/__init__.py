"""Teeth: names, sizes, axes, places in words, and the parametric generator."""

from firstbake.teeth.demo import DEMO_ROOMS, DemoCrown, demo_crown
from firstbake.teeth.finding import find_frame
from firstbake.teeth.frame import Frame, Landmarks, Point
from firstbake.teeth.generator import GeneratedCrown, generate_contour, generate_crown
from firstbake.teeth.neighbours import joined, signed_gap_mm, slid_to, turned_and_moved
from firstbake.teeth.places import place_in_words, zone_of
from firstbake.teeth.rooms import Rooms, ThinSpot, usual_rooms
from firstbake.teeth.sizes import Sizes, usual_sizes
from firstbake.teeth.standin import core_stand_in, crown_cap
from firstbake.teeth.tooth import Tooth

__all__ = [
    "DEMO_ROOMS",
    "DemoCrown",
    "Frame",
    "GeneratedCrown",
    "Landmarks",
    "Point",
    "Rooms",
    "Sizes",
    "ThinSpot",
    "Tooth",
    "core_stand_in",
    "crown_cap",
    "demo_crown",
    "find_frame",
    "generate_contour",
    "generate_crown",
    "joined",
    "place_in_words",
    "signed_gap_mm",
    "slid_to",
    "turned_and_moved",
    "usual_rooms",
    "usual_sizes",
    "zone_of",
]
