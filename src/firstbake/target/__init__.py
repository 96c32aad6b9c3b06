"""Target: what colour is wanted, how it was measured, and how well it is known."""

from firstbake.target.camera import MOST_ERROR_DELTA_E00, Camera, fit_camera
from firstbake.target.card import (
    PRINTED_PATCH_MM,
    PRINTED_SIZE_MM,
    Card,
    Mark,
    Patch,
    printed_marks,
    printed_patches,
)
from firstbake.target.comparing import Compared, compared_as, stated_as
from firstbake.target.photo import (
    PhotoColours,
    PhotoZone,
    Picture,
    colours_of_photo,
    patch_corners_mm,
)
from firstbake.target.pixels import CLIPPED, on_image
from firstbake.target.reading import Reading, checked, in_percent, target_lab
from firstbake.target.words import (
    contact_from_words,
    geometry_from_words,
    light_from_words,
    millimetres_from_words,
    observer_from_words,
)

__all__ = [
    "CLIPPED",
    "MOST_ERROR_DELTA_E00",
    "PRINTED_PATCH_MM",
    "PRINTED_SIZE_MM",
    "Camera",
    "Card",
    "Compared",
    "Mark",
    "Patch",
    "PhotoColours",
    "PhotoZone",
    "Picture",
    "Reading",
    "checked",
    "colours_of_photo",
    "compared_as",
    "contact_from_words",
    "fit_camera",
    "geometry_from_words",
    "in_percent",
    "light_from_words",
    "millimetres_from_words",
    "observer_from_words",
    "on_image",
    "patch_corners_mm",
    "printed_marks",
    "printed_patches",
    "stated_as",
    "target_lab",
]
