"""What can be done where there is too little, or too much, room for porcelain."""

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.mesh import nearest
from firstbake.room.regions import Choices, Spot
from firstbake.teeth import Frame

Floats = NDArray[np.float64]

_SMALL_PATCH_MM2 = 2.0
"""Largest patch that may be accepted out of view (an invented demo case's figure, no source)."""
_LEAST_STEP_MM = 0.02
"""A smaller change cannot be ground or built on purpose (chosen here)."""
_BITING = 0.5
"""A surface whose normal leans this far to the biting end faces the opposing teeth."""
_KEEP_FREE_MM = 0.05
_JUNCTION_MM = "1.5 to 2.0"
"""Metal-porcelain junction to contact; common practice, taught in clinical courses."""


def thin_choices(case: Case, frame: Frame) -> Choices:
    """Writes the choices for a thin spot: move, thin the core, ask, leave the core bare, accept.

    Moving the contour comes first where there is place for it, last where a neighbour or the bite is in
    the way. The core is thinned by no more than the case's wall less the least wall on its card.
    """

    def write(spot: Spot) -> tuple[str, ...]:
        free_mm, blocker = _free_way(case, spot)
        biting = float(spot.normal @ frame.axes[2]) > _BITING
        move, possible = _move(spot, free_mm=free_mm, blocker=blocker)
        thin, ask = _thin_core(case, spot), _ask(spot, biting=biting and bool(case.opposing))
        bare = _bare_core(case, spot, frame, biting=biting)
        rest = [thin, bare, ask] if biting and not case.tooth.is_front else [thin, ask, bare]
        order = [move, *rest] if possible else [*rest, move]
        return tuple(words for words in (*order, _accept(spot)) if words)

    return write


def unsupported_choices(case: Case) -> Choices:
    """Writes the choices for porcelain that is too thick to be carried by the core."""

    def write(spot: Spot) -> tuple[str, ...]:
        depth = _mm(spot.depth_mm)
        words = [
            f"build the core up by {depth} here so that it follows the contour",
            f"bring the contour in by {depth}",
            f"ask for a new core with support under the {spot.where}",
        ]
        if spot.area_mm2 <= _SMALL_PATCH_MM2:
            words.append(f"accept it: {spot.area_mm2:.1f} mm², away from the bite; it may chip")
        return tuple(words)

    return write


def _mm(value: float) -> str:
    return f"{value:.2f} mm"


def _free_way(case: Case, spot: Spot) -> tuple[float, str]:
    """How far the spot is from the nearest neighbour or opposing tooth, mm, and its name."""
    others = (*case.neighbours, *case.opposing)
    if not others:
        return np.inf, ""
    found = [float(nearest(other.surface, spot.at_mm[None]).distance_mm[0]) for other in others]
    least = int(np.argmin(found))
    return found[least], others[least].name


def _move(spot: Spot, *, free_mm: float, blocker: str) -> tuple[str, bool]:
    """The words for moving the contour, and whether there is place for all of it."""
    possible = free_mm - _KEEP_FREE_MM
    if possible >= spot.depth_mm:
        return f"move the contour out by {_mm(spot.depth_mm)} at the {spot.where}", True
    if possible >= _LEAST_STEP_MM:
        return f"move the contour out by {_mm(possible)}; {blocker} leaves no more", False
    return "", False


def _thin_core(case: Case, spot: Spot) -> str:
    least = case.core_material.least_wall_mm.value
    spare = case.core_wall_mm - least
    if spare < _LEAST_STEP_MM:
        return ""
    step = min(spare, spot.depth_mm)
    words = (
        f"thin the core by {_mm(step)} here to a wall of {_mm(case.core_wall_mm - step)} "
        f"(least wall {_mm(least)} on its card)"
    )
    missing = spot.depth_mm - step
    return words if missing < _LEAST_STEP_MM else f"{words}; {_mm(missing)} stays missing"


def _ask(spot: Spot, *, biting: bool) -> str:
    words = f"ask for {_mm(spot.depth_mm)} more reduction of the preparation"
    return f"{words}, or of the opposing tooth" if biting else words


def _bare_core(case: Case, spot: Spot, frame: Frame, *, biting: bool) -> str:
    """Core material out to the surface: on the bite or the inner side, never where it is seen."""
    inner = float(spot.normal @ frame.axes[1]) < -_BITING
    if case.tooth.is_front and not inner:
        return ""
    if not (biting or inner):
        return ""
    if case.core_material.kind == "metal":
        return f"bring the metal to the surface there, its junction {_JUNCTION_MM} mm away from any contact"
    return f"leave the {case.core_material.kind} core bare and polished there, if its card allows it"


def _accept(spot: Spot) -> str:
    if spot.area_mm2 > _SMALL_PATCH_MM2:
        return ""
    return f"accept {_mm(spot.value_mm)} on this patch of {spot.area_mm2:.1f} mm² if it is out of view"
