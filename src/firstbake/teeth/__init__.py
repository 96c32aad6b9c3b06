"""Teeth: names, sizes, axes, places in words, and the parametric generator."""

from firstbake.teeth.frame import Frame, Landmarks, Point
from firstbake.teeth.tooth import Tooth

__all__ = ["Frame", "Landmarks", "Point", "Tooth"]
