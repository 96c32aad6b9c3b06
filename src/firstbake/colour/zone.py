"""ZoneColour: what a zone will look like, with its doubt."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Lab = tuple[float, float, float]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ThicknessCurve:
    """How the colour of a zone goes with the room.

    room_mm   : (k,) whole porcelain, mm; coats on the core stay, the other layers keep their proportion
    lab, sd   : (k, 3) CIELAB at each, and one standard deviation along each axis
    planned_mm : the room the plan has here
    """

    room_mm: Floats
    lab: Floats
    sd: Floats
    planned_mm: float


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
    illuminants : CIELAB by name of other lights, each against its own white, 2°
    tp, wi_d  : translucency parameter of core and porcelain on black and white tiles; whiteness index
    masking_delta_e00 : CIEDE2000 between the plan over this stump and over an ordinary one; None when no
                stump was ordered, 0 where none shines through
    lab_sd    : one standard deviation along L*, a*, b*
    reflectance, reflectance_sd : (31,) seen spectrum, 400 to 700 nm, and one standard deviation
    curve     : colour against room
    target_doubt_delta_e00 : one standard deviation of the target's own reading, 0 where none is known
    optics_doubt : powder or core -> what the doubt of its optics rests on, in words
    metamerism : light -> CIEDE2000 by which the match moves from daylight to it; empty where the target has
                no spectrum      metamerism_words : the same in a sentence, else ""
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
    illuminants: dict[str, Lab] = field(default_factory=dict)
    tp: float | None = None
    wi_d: float | None = None
    masking_delta_e00: float | None = None
    lab_sd: Lab | None = None
    reflectance: Floats | None = None
    reflectance_sd: Floats | None = None
    curve: ThicknessCurve | None = None
    target_doubt_delta_e00: float = 0.0
    optics_doubt: dict[str, str] = field(default_factory=dict)
    metamerism: dict[str, float] = field(default_factory=dict)
    metamerism_words: str = ""

    @property
    def difference_doubt_delta_e00(self) -> float:
        """One standard deviation of the difference: of prediction and target, which are independent."""
        return float(np.hypot(self.doubt_delta_e00, self.target_doubt_delta_e00))
