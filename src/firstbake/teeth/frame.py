"""Frame: the tooth's own axes, and where a point lies in words."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.teeth.tooth import Tooth

Floats = NDArray[np.float64]
Point = tuple[float, float, float]


@dataclass(frozen=True)
class Landmarks:
    """Optional taps in file coordinates, mm."""

    incisal_mid_mm: Point | None = None
    mesial_contact_mm: Point | None = None
    distal_contact_mm: Point | None = None
    labial_mid_mm: Point | None = None


@dataclass(frozen=True, eq=False)
class Frame:
    """Axes of one tooth. Local coordinates are x mesial, y labial (buccal), z incisal (occlusal), mm.

    origin_mm  : (3,) centre of the margin loop (or of the neck), mm, in file coordinates
    axes       : (3, 3) unit rows mesial, labial, incisal, in file coordinates; left-handed where
                 tooth.handed is -1 (never mirror the mesh, only the axes)
    height_mm  : crown height along z from the mean margin to the highest point of the contour, mm
    width_mm, depth_mm : mesiodistal and labiolingual size of the contour, mm
    margin_azimuth_rad, margin_z_mm : (k,) the margin's local height against atan2(y, x), sorted, periodic
    method     : in words, how it was found ("landmarks", "margin, neighbours and shape", ...)
    confidence : unit 1, 0 to 1; below 0.5 the axes are a guess
    """

    tooth: Tooth
    origin_mm: Floats
    axes: Floats
    height_mm: float
    width_mm: float
    depth_mm: float
    margin_azimuth_rad: Floats
    margin_z_mm: Floats
    method: str
    confidence: float

    def to_local(self, points_mm: Floats) -> Floats:
        """(n, 3) file coordinates -> (n, 3) local coordinates, mm."""
        return np.asarray((np.asarray(points_mm) - self.origin_mm) @ self.axes.T)

    def to_file(self, local_mm: Floats) -> Floats:
        """(n, 3) local coordinates -> (n, 3) file coordinates, mm."""
        return np.asarray(np.asarray(local_mm) @ self.axes + self.origin_mm)

    def margin_height_mm(self, local_mm: Floats) -> Floats:
        """(n,) local height of the margin in the direction of each local point, mm."""
        azimuth = np.arctan2(local_mm[:, 1], local_mm[:, 0])
        return np.asarray(np.interp(azimuth, self.margin_azimuth_rad, self.margin_z_mm, period=2 * np.pi))

    def height_share(self, points_mm: Floats) -> Floats:
        """(n,) 0 at the margin, 1 at the top of the contour, of points in file coordinates, unit 1."""
        local = self.to_local(points_mm)
        margin = self.margin_height_mm(local)
        return np.asarray((local[:, 2] - margin) / np.maximum(self.height_mm - margin, 1e-6))
