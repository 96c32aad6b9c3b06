"""Volume of each layer: level sets counted on the grid, closed on the room's own volume.

Each node carries the share clip(1/2 - level/step, 0, 1) of its cell (exact for a flat face on average, error
falls with the square of the step). Layers are differences of nested level sets, so a film thinner than the
step is counted as well as a thick one.
"""

from itertools import pairwise

import numpy as np

from firstbake.layering.columns import Wishes
from firstbake.layering.field import CutBackField
from firstbake.mesh import Floats

_STRAY_SHARE = 0.15
_LEAST_REST = 0.25


def counted_mm3(field: CutBackField, level_mm: Floats | None, wishes: Wishes) -> Floats:
    """Volumes from the core outward: each coat, opaque dentine, dentine, enamel, transparent, mm³.

    level_mm : (a,) cut-back field at the active nodes; None in a plan without enamel
    """
    reading, step = field.reading, field.grid.step_mm
    outer, inner = reading.contour_mm, reading.core_mm
    dentine = outer if level_mm is None else np.minimum(level_mm, inner)
    walls, laid = [inner], np.zeros_like(inner)
    for wish in wishes.coats_mm:
        laid = laid + reading.at_foot(wish)
        walls.append(np.maximum(inner - laid, dentine))
    over = inner - laid
    film = np.maximum(over - reading.at_foot(wishes.opaque_dentine_mm), over + dentine)
    walls += [np.maximum(film, dentine), dentine]
    if level_mm is not None:
        skin = np.minimum(outer + reading.at_foot(wishes.transparent_mm), outer + 2.0 / 3.0 * level_mm)
        walls += [np.maximum(np.minimum(skin, dentine), outer), outer]
    within = np.clip(0.5 + reading.end_mm / step, 0.0, 1.0)
    filled = [np.clip(0.5 - wall / step, 0.0, 1.0) for wall in walls]
    found = [float((np.maximum(b - a, 0.0) * within).sum()) * step**3 for a, b in pairwise(filled)]
    return np.array(found + [0.0] * (len(wishes.coats_mm) + 4 - len(found)))


def closed_on(room_mm3: float, counted: Floats, *, dentine: int) -> tuple[Floats, str]:
    """Make the counted volumes add up to the room's volume; dentine, the bulk, takes up what is left over.

    dentine : place of the dentine in `counted`
    returns : volumes, mm³, and a note, empty when the count and the room agree within 15 %
    When dentine would lose more than three quarters of its count, all layers are scaled instead.
    """
    total = float(counted.sum())
    rest = room_mm3 - (total - float(counted[dentine]))
    near = abs(total - room_mm3) <= _STRAY_SHARE * room_mm3
    if rest >= _LEAST_REST * float(counted[dentine]) and rest >= 0:
        closed = counted.copy()
        closed[dentine] = rest
        way = f"dentine took up the difference of {abs(room_mm3 - total):.1f} mm³"
    else:
        closed = counted * (room_mm3 / total)
        way = f"all layers were scaled by {room_mm3 / total:.2f}"
    if near:
        return closed, ""
    return closed, (
        f"Layer volumes counted on the grid add up to {total:.1f} mm³, the room to {room_mm3:.1f} mm³; "
        f"{way}. Check the margin of contour and core."
    )
