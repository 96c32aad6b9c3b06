"""What a powder is, and what a core is made of: values from cards."""

from firstbake.powder.bake import MakerBake
from firstbake.powder.coupon import Coupon, ShrinkageFit, fit_shrinkage
from firstbake.powder.figure import STATUSES, Figure
from firstbake.powder.mixed import mixed_powder
from firstbake.powder.optics import parametric_optics
from firstbake.powder.powder import CORE_KINDS, ROLES, CoreMaterial, Optics, Powder
from firstbake.powder.roles import layer_of_role, least_of_role, pore_liquid
from firstbake.powder.viscosity import (
    GAS_J_PER_MOL_K,
    USUAL_VISCOSITY,
    ZERO_K,
    Viscosity,
    viscosity_of,
)

__all__ = [
    "CORE_KINDS",
    "GAS_J_PER_MOL_K",
    "ROLES",
    "STATUSES",
    "USUAL_VISCOSITY",
    "ZERO_K",
    "CoreMaterial",
    "Coupon",
    "Figure",
    "MakerBake",
    "Optics",
    "Powder",
    "ShrinkageFit",
    "Viscosity",
    "fit_shrinkage",
    "layer_of_role",
    "least_of_role",
    "mixed_powder",
    "parametric_optics",
    "pore_liquid",
    "viscosity_of",
]
