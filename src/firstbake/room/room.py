"""Room: what there is between core and wanted contour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Region:
    """A patch of the contour where something is wrong.

    kind     : "thin" or "unsupported"
    where    : place in words, "distolabial, cervical third"
    area_mm2 : area of the patch
    worst_mm : thickness at its worst vertex, mm
    depth_mm : by how much the worst vertex misses the limit, mm, greater than 0
    at_mm    : (3,) the worst vertex, file coordinates
    vertices : (k,) vertex numbers of the contour
    choices  : what can be done, in words, most useful first
    """

    kind: str
    where: str
    area_mm2: float
    worst_mm: float
    depth_mm: float
    at_mm: Floats
    vertices: NDArray[np.int32]
    choices: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Contact:
    """One neighbour: gap (less than 0 where they overlap), area within 0.02 mm, overlap.

    side     : "mesial" or "distal"
    area_mm2 : {tolerance in µm: area of the contour nearer than that, mm²} for 0, 20 and 50 µm
    at_mm    : (3,) the nearest point of the contour
    """

    neighbour: str
    side: str
    gap_mm: float
    area_mm2: dict[int, float]
    overlap_mm3: float
    at_mm: Floats


@dataclass(frozen=True, eq=False)
class Clearance:
    """Least distance to an opposing tooth, mm (less than 0 where they cross), and where."""

    opposing: str
    least_mm: float
    at_mm: Floats
    where: str


@dataclass(frozen=True, eq=False)
class Room:
    """The room for porcelain at every vertex of the contour (n vertices).

    thickness_mm    : (n,) shortest distance to the core; less than 0 where the core stands out
    along_normal_mm : (n,) distance to the core along the inward normal; NaN where the ray misses
    foot_mm         : (n, 3) nearest point of the core
    margin_mm       : (n,) distance of each vertex to the margin, mm (inf when there is no margin loop)
    veneered        : (n,) bool, False for contour below the core's margin (not porcelain)
    volume_mm3      : volume between core and contour where veneered
    notes           : what was left out of the measuring, in words
    """

    thickness_mm: Floats
    along_normal_mm: Floats
    foot_mm: Floats
    margin_mm: Floats
    veneered: NDArray[np.bool_]
    volume_mm3: float
    thin: tuple[Region, ...]
    unsupported: tuple[Region, ...]
    contacts: tuple[Contact, ...]
    clearance: tuple[Clearance, ...]
    notes: tuple[str, ...] = ()

    @property
    def least_clearance_mm(self) -> float | None:
        """The least clearance over all opposing teeth, mm, or None when there are none."""
        return min((c.least_mm for c in self.clearance), default=None)
