"""Three nodes that hold a free body without straining it."""

import numpy as np

from firstbake.fem import Flags
from firstbake.mesh import Floats


def gripped(points_mm: Floats) -> Flags:
    """(n, 3) components held: just so many that the body can neither move nor turn, far apart."""
    held = np.zeros((len(points_mm), 3), dtype=bool)
    one = int(np.argmin(points_mm[:, 2]))
    legs = points_mm - points_mm[one]
    two = int(np.argmax(np.linalg.norm(legs, axis=1)))
    along = np.argsort(np.abs(legs[two]))
    three = int(np.argmax(np.linalg.norm(np.cross(legs, legs[two]), axis=1)))
    held[one] = True
    held[two, along[:2]] = True  # left: turns about the leg to `two`, which move `three` square to both legs
    held[three, int(np.argmax(np.abs(np.cross(legs[two], legs[three]))))] = True
    return held
