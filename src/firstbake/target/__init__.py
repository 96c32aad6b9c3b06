"""Target: what colour is wanted, how it was measured, and how well it is known."""

from firstbake.target.comparing import Compared, compared_as, stated_as
from firstbake.target.reading import Reading, checked, in_percent, target_lab
from firstbake.target.words import (
    contact_from_words,
    geometry_from_words,
    light_from_words,
    millimetres_from_words,
    observer_from_words,
)

__all__ = [
    "Compared",
    "Reading",
    "checked",
    "compared_as",
    "contact_from_words",
    "geometry_from_words",
    "in_percent",
    "light_from_words",
    "millimetres_from_words",
    "observer_from_words",
    "stated_as",
    "target_lab",
]
