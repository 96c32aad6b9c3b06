"""Firing: the sequence of bakes with sources and cautions."""

from firstbake.firing.cautions import Caution, cautions_for
from firstbake.firing.cooling import Cooling, cooling_of
from firstbake.firing.curve import temperature_curve
from firstbake.firing.drying import drying_s
from firstbake.firing.expansion import expansion_words
from firstbake.firing.programme import Programme
from firstbake.firing.sequence import default_sequence

__all__ = [
    "Caution",
    "Cooling",
    "Programme",
    "cautions_for",
    "cooling_of",
    "default_sequence",
    "drying_s",
    "expansion_words",
    "temperature_curve",
]
