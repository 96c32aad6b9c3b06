"""ZoneColour: what a zone will look like, with its doubt."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Lab = tuple[float, float, float]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ZoneColour:
    """Predicted colour of one zone.

    zone  : "cervical", "body" or "incisal"
    lab   : CIELAB, D65, 2°          target : the same, or None when the order gives none
    delta_e00 : CIEDE2000 to the target, or None
    doubt_delta_e00 : one standard deviation of the prediction, CIEDE2000
    stack_mm  : (name, thickness mm) as used: a translucent core first, then the powders outward; at a free
                edge no core, the powders from the back of the tooth to its front, so a name may come twice
    srgb      : preview colour, 0 to 1 each, unlit
    words     : the difference in words, "a little less red and yellow than wanted"
    weak      : sentences where the model is known to be weak here
    """

    zone: str
    lab: Lab
    target: Lab | None
    delta_e00: float | None
    doubt_delta_e00: float
    stack_mm: tuple[tuple[str, float], ...]
    srgb: tuple[float, float, float]
    words: str
    weak: tuple[str, ...]
