"""Colour: what the layers look like over this core and stump."""

from firstbake.colour.difference import ACCEPTABLE_DELTA_E00, PERCEPTIBLE_DELTA_E00, delta_e00
from firstbake.colour.faces import (
    GEOMETRIES,
    OuterFace,
    across,
    diffuse_reflectances,
    fresnel,
    outer_face,
)
from firstbake.colour.layers import layer, over, thick_reflectance
from firstbake.colour.mixing import MixCorrection, correction_from_tab, mixed_optics, volume_shares
from firstbake.colour.observer import (
    ILLUMINANTS,
    lab_from_reflectance,
    lab_from_xyz,
    metameric_difference,
    srgb_from_lab,
    weights_of,
    white_of,
    xyz_from_lab,
    xyz_from_reflectance,
)
from firstbake.colour.smooth import smooth_reflectance
from firstbake.colour.spectrum import grid_nm, on_grid
from firstbake.colour.stack import LowerEnd, Stack, reflectance_slope, reflectance_within, stack_of
from firstbake.colour.words import difference_in_words, name_of
from firstbake.colour.zone import ZoneColour
from firstbake.colour.zones import predict_zones

__all__ = [
    "ACCEPTABLE_DELTA_E00",
    "GEOMETRIES",
    "ILLUMINANTS",
    "PERCEPTIBLE_DELTA_E00",
    "LowerEnd",
    "MixCorrection",
    "OuterFace",
    "Stack",
    "ZoneColour",
    "across",
    "correction_from_tab",
    "delta_e00",
    "difference_in_words",
    "diffuse_reflectances",
    "fresnel",
    "grid_nm",
    "lab_from_reflectance",
    "lab_from_xyz",
    "layer",
    "metameric_difference",
    "mixed_optics",
    "name_of",
    "on_grid",
    "outer_face",
    "over",
    "predict_zones",
    "reflectance_slope",
    "reflectance_within",
    "smooth_reflectance",
    "srgb_from_lab",
    "stack_of",
    "thick_reflectance",
    "volume_shares",
    "weights_of",
    "white_of",
    "xyz_from_lab",
    "xyz_from_reflectance",
]
