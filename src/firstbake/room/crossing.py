"""Core standing out of the wanted contour: refused when it is more than a scratch."""

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadCase
from firstbake.mesh import Surface
from firstbake.room.regions import regions_of
from firstbake.room.room import Region
from firstbake.teeth import Frame

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

DEEPEST_MM = 0.05
"""A core may stand out this far (scan and mesh noise; common practice, no source)."""
LARGEST_MM2 = 0.5
_FAR_APART_MM = 5.0
"""No veneer is this thick on the median (chosen here; the thickest taught is 2.0 to 2.5 mm)."""


def refuse_apart(thickness_mm: Floats, *, core_outside_share: float) -> None:
    """Refuse surfaces that do not belong together.

    thickness_mm : (k,) at the veneered vertices      core_outside_share : of the core's area, unit 1
    raises : BadCase when core and contour lie apart or the core is the larger of the two
    """
    middle = float(np.median(thickness_mm))
    if middle > _FAR_APART_MM:
        raise BadCase(
            f"core and contour lie {middle:.1f} mm apart on the median; they are not in the same "
            "coordinates or not of the same tooth. Export both from one scene, without moving either"
        )
    if core_outside_share > 0.5:
        raise BadCase(
            f"{100 * core_outside_share:.0f} % of the core lies outside the wanted contour; "
            "check that core and contour were not swapped and are in the same coordinates"
        )


def refuse_crossing(surface: Surface, out_mm: Floats, *, frame: Frame, within: Flags) -> None:
    """Refuse a core that stands out of the contour by more than 0.05 mm over more than 0.5 mm².

    surface : contour, or core, on whose vertices it is seen      within : (n,) where it counts
    out_mm  : (n,) how far the core stands out at each vertex, mm
    raises  : BadCase with place, depth, area and what to do
    """
    deep = regions_of(
        surface,
        out_mm - DEEPEST_MM,
        kind="crossing",
        frame=frame,
        value_mm=out_mm,
        within=within,
        least_area_mm2=LARGEST_MM2,
    )
    if deep:
        raise BadCase(_sentence(deep))


def _sentence(deep: tuple[Region, ...]) -> str:
    worst = deep[0]
    others = len(deep) - 1
    more = "" if others == 0 else f" and at {others} more {'place' if others == 1 else 'places'}"
    x, y, z = (float(v) for v in worst.at_mm)
    return (
        f"the core stands out of the wanted contour by {worst.worst_mm:.2f} mm at the {worst.where} "
        f"({worst.area_mm2:.1f} mm² round x {x:.2f}, y {y:.2f}, z {z:.2f} mm){more}. "
        f"Move the contour out by at least {worst.worst_mm:.2f} mm plus the veneer there, or thin the core, "
        "and check that both are in the same coordinates"
    )
