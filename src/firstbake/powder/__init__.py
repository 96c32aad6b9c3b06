"""What a powder is, and what a core is made of: values from cards."""

from firstbake.powder.figure import STATUSES, Figure
from firstbake.powder.optics import parametric_optics
from firstbake.powder.powder import ROLES, CoreMaterial, Optics, Powder

__all__ = ["ROLES", "STATUSES", "CoreMaterial", "Figure", "Optics", "Powder", "parametric_optics"]
