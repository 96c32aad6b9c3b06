"""Green: the shape to build so that it fires to the wanted contour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.fem import VeneerMesh
from firstbake.mesh import Surface

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Green:
    """The green (unfired) build.

    contour        : green contour, vertex for vertex the case's contour
    overbuild_mm   : (n,) distance from wanted to green contour, mm
    dentine_full   : green dentine before the cut-back, or None in a one-powder plan
    dentine_cut    : green dentine after the cut-back, or None in a one-powder plan
    volume_mm3     : of all porcelain in the build
    powder_volume_mm3 : the same by powder name; liner and opaque, fired before, count as fired
    free_share     : (n,) 0 where the porcelain shrinks as a bonded layer, 1 where as a free body;
                     None when the model needs no such blend
    mass_closure   : factor on the growth that closes the mass balance of the whole body (near 1)
    model          : name of the law, "sintering, finite elements" or "bonded-layer columns"
    folded_faces   : faces of the green contour that are turned over (0 on a sound plan)
    opened         : (n,) True where a hollow of the core was too tight for its green column and the law
                     took a wider one
    residual_um    : distance that 99 of 100 fired contour nodes keep from the wanted contour, um, the last
                     0.3 mm at the margin left out (fem.Overbuilt); None for the column law
    error_estimate_um : what the size of the elements does to the green contour, um
    sweeps, nodes  : firings it took, nodes of the mesh
    tension        : (n,) greatest mean stress on the way at every contour vertex, in units of the sintering
                     stress: a relative risk of tearing, never a strength
    edge_per_sd_mm : by how much one standard deviation of packing moves the point farthest from the core
    notes          : what the model left out or could not do, in sentences
    mesh           : the porcelain as it is wanted from the furnace, None for the column law
    """

    contour: Surface
    overbuild_mm: Floats
    dentine_full: Surface | None
    dentine_cut: Surface | None
    volume_mm3: float
    powder_volume_mm3: dict[str, float]
    free_share: Floats | None
    mass_closure: float
    model: str
    folded_faces: int = 0
    opened: NDArray[np.bool_] | None = None
    residual_um: float | None = None
    error_estimate_um: float | None = None
    sweeps: int | None = None
    nodes: int | None = None
    tension: Floats | None = None
    edge_per_sd_mm: float | None = None
    notes: tuple[str, ...] = ()
    mesh: VeneerMesh | None = None


@dataclass(frozen=True)
class Calliper:
    """One length a ceramist can measure: what it must be green, and what it will be fired, mm.

    name   : in words, "mesiodistal, middle third"
    fired_mm    : out of the furnace, with the allowances still on     finished_mm : once they are ground off
    doubt_mm : one standard deviation of the green length, mm
    """

    name: str
    fired_mm: float
    green_mm: float
    doubt_mm: float
    finished_mm: float


@dataclass(frozen=True)
class Mix:
    """How much of one powder to put on the slab.

    powder_g : grams to weigh out, slab waste included     placed_g : grams that end in the build
    lay_g    : grams laid on     cut_off_g : grams of these that the cut-back takes off again
    liquid_ml : modelling liquid, ml       cost : in `currency`, or None when the card has no price
    """

    powder: str
    role: str
    placed_g: float
    powder_g: float
    liquid_ml: float
    cost: float | None
    currency: str
    lay_g: float
    cut_off_g: float
