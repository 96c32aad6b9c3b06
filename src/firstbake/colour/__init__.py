"""Colour: what the layers look like over this core and stump."""

from firstbake.colour.difference import ACCEPTABLE_DELTA_E00, PERCEPTIBLE_DELTA_E00, delta_e00
from firstbake.colour.doubt import doubt_of
from firstbake.colour.faces import (
    GEOMETRIES,
    OuterFace,
    across,
    diffuse_reflectances,
    fresnel,
    outer_face,
)
from firstbake.colour.fast import labs_of, spectra_of
from firstbake.colour.ground import Ground, free_ground, ground_of
from firstbake.colour.layers import growth, layer, over, over_slope, thick_reflectance
from firstbake.colour.observer import (
    ILLUMINANTS,
    OBSERVERS,
    lab_from_reflectance,
    lab_from_xyz,
    metameric_difference,
    srgb_from_lab,
    weights_of,
    white_of,
    xyz_from_lab,
    xyz_from_reflectance,
)
from firstbake.colour.places import Place, places_of
from firstbake.colour.recipe import Recipe
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
    "OBSERVERS",
    "PERCEPTIBLE_DELTA_E00",
    "Ground",
    "LowerEnd",
    "OuterFace",
    "Place",
    "Recipe",
    "Stack",
    "ZoneColour",
    "across",
    "delta_e00",
    "difference_in_words",
    "diffuse_reflectances",
    "doubt_of",
    "free_ground",
    "fresnel",
    "grid_nm",
    "ground_of",
    "growth",
    "lab_from_reflectance",
    "lab_from_xyz",
    "labs_of",
    "layer",
    "metameric_difference",
    "name_of",
    "on_grid",
    "outer_face",
    "over",
    "over_slope",
    "places_of",
    "predict_zones",
    "reflectance_slope",
    "reflectance_within",
    "smooth_reflectance",
    "spectra_of",
    "srgb_from_lab",
    "stack_of",
    "thick_reflectance",
    "weights_of",
    "white_of",
    "xyz_from_lab",
    "xyz_from_reflectance",
]
