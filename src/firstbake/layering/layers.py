"""Layers: which powder lies where between core and contour, in the fired state."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface
from firstbake.powder import Powder
from firstbake.room import Region

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Layer:
    """One powder's part of the fired veneer, from the core outward.

    thickness_mm : (n,) its thickness on the way from the core to each contour vertex, mm
    volume_mm3   : its fired volume
    order        : place in the building order, 1 first
    """

    powder: Powder
    thickness_mm: Floats
    volume_mm3: float
    order: int


@dataclass(frozen=True, eq=False)
class Layers:
    """The fired layering.

    layers     : from the core outward; thicknesses add up to the room at every veneered vertex,
                 volumes to the room's volume
    cut_back   : surface of the dentine after the cut-back, fired size; None in a one-powder plan
    enamel_mm  : (n,) enamel (with transparent) thickness at every contour vertex, mm; 0 in a one-powder plan
    wanted_enamel_mm : (n,) what the prescription of enamel asks for at every contour vertex, mm
    conflicts  : places where coats, least dentine and least enamel do not all fit
    notes      : sentences: powders of the case that are not used, layers that had to be thinned
    """

    layers: tuple[Layer, ...]
    cut_back: Surface | None
    enamel_mm: Floats
    wanted_enamel_mm: Floats
    conflicts: tuple[Region, ...]
    notes: tuple[str, ...] = ()
