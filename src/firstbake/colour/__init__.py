"""Colour: what the layers look like over this core and stump."""

from firstbake.colour.crown_map import PREVIEW_WORDS, ColourMap, colour_map
from firstbake.colour.difference import ACCEPTABLE_DELTA_E00, PERCEPTIBLE_DELTA_E00, delta_e00
from firstbake.colour.doubt import LAYERING_MM, doubt_of
from firstbake.colour.faces import (
    GEOMETRIES,
    OuterFace,
    across,
    diffuse_reflectances,
    fresnel,
    outer_face,
)
from firstbake.colour.fast import labs_of, spectra_of
from firstbake.colour.ground import ORDINARY_STUMP, Ground, free_ground, ground_of
from firstbake.colour.hiding import coat_of, least_hiding_mm
from firstbake.colour.indices import (
    TEST_LIGHTS,
    contrast_ratio,
    metamerism_index,
    translucency,
    translucency_00,
    whiteness_index,
    worst_metamerism,
)
from firstbake.colour.layers import growth, layer, over, over_slope, thick_reflectance
from firstbake.colour.mixing import (
    MixCorrection,
    correction_from_tab,
    mixed_optics,
    part_corrected,
    volume_shares,
)
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
from firstbake.colour.optics_doubt import basis_of, identification_errors
from firstbake.colour.places import Place, places_of
from firstbake.colour.recipe import Recipe
from firstbake.colour.smooth import smooth_reflectance
from firstbake.colour.spectrum import grid_nm, on_grid
from firstbake.colour.stack import LowerEnd, Stack, reflectance_slope, reflectance_within, stack_of
from firstbake.colour.words import difference_in_words, name_of
from firstbake.colour.zone import ThicknessCurve, ZoneColour
from firstbake.colour.zones import predict_zones

__all__ = [
    "ACCEPTABLE_DELTA_E00",
    "GEOMETRIES",
    "ILLUMINANTS",
    "LAYERING_MM",
    "OBSERVERS",
    "ORDINARY_STUMP",
    "PERCEPTIBLE_DELTA_E00",
    "PREVIEW_WORDS",
    "TEST_LIGHTS",
    "ColourMap",
    "Ground",
    "LowerEnd",
    "MixCorrection",
    "OuterFace",
    "Place",
    "Recipe",
    "Stack",
    "ThicknessCurve",
    "ZoneColour",
    "across",
    "basis_of",
    "coat_of",
    "colour_map",
    "contrast_ratio",
    "correction_from_tab",
    "delta_e00",
    "difference_in_words",
    "diffuse_reflectances",
    "doubt_of",
    "free_ground",
    "fresnel",
    "grid_nm",
    "ground_of",
    "growth",
    "identification_errors",
    "lab_from_reflectance",
    "lab_from_xyz",
    "labs_of",
    "layer",
    "least_hiding_mm",
    "metameric_difference",
    "metamerism_index",
    "mixed_optics",
    "name_of",
    "on_grid",
    "outer_face",
    "over",
    "over_slope",
    "part_corrected",
    "places_of",
    "predict_zones",
    "reflectance_slope",
    "reflectance_within",
    "smooth_reflectance",
    "spectra_of",
    "srgb_from_lab",
    "stack_of",
    "thick_reflectance",
    "translucency",
    "translucency_00",
    "volume_shares",
    "weights_of",
    "white_of",
    "whiteness_index",
    "worst_metamerism",
    "xyz_from_lab",
    "xyz_from_reflectance",
]
