"""Clearance: the least distance to the opposing teeth."""

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.room.gap import least_gap
from firstbake.room.room import Clearance
from firstbake.room.sides import whole_faces
from firstbake.teeth import Frame, place_in_words


def clearance_of(case: Case, frame: Frame, veneered: NDArray[np.bool_]) -> tuple[Clearance, ...]:
    """Least signed distance to each opposing surface, both ways; less than 0 where the bite crosses."""
    contour = case.contour.surface
    counts = whole_faces(contour, veneered)
    found = []
    for opposing in case.opposing:
        gap = least_gap(contour, opposing.surface, counts=counts)
        where = place_in_words(frame, gap.at_mm)
        found.append(Clearance(opposing.name, gap.least_mm, gap.at_mm.copy(), where))
    return tuple(found)
