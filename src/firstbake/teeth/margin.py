"""The margin line of a crown."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface, signed_distance

Floats = NDArray[np.float64]
_LEAST_LOOP_MM = 6.0  # a shorter loop is a hole, not a margin (chosen here: no neck is that small)
_CLEAR_MM = 0.1  # a core this far inside is under porcelain (chosen here)
_AZIMUTHS = 180
_SMOOTHING = 5  # rows either way


@dataclass(frozen=True, eq=False)
class Margin:
    """Where the porcelain ends.

    points_mm : (k, 3) in order round the tooth when is_line, else without order; file coordinates
    is_line   : True for a boundary loop
    above_mm  : (3,) middle of the surface that lies on the crown's side of it
    words     : which surface it came from
    """

    points_mm: Floats
    is_line: bool
    above_mm: Floats
    words: str

    @property
    def centre_mm(self) -> Floats:
        """(3,) middle of the margin, mm."""
        if self.is_line:
            return loop_centre_mm(self.points_mm)
        return np.asarray(self.points_mm.mean(axis=0))


def loop_centre_mm(points_mm: Floats) -> Floats:
    """(3,) length-weighted centre of the closed line through (k, 3) points, mm."""
    following = np.roll(points_mm, -1, axis=0)
    length = np.linalg.norm(following - points_mm, axis=1)
    return np.asarray((length[:, None] * (points_mm + following) / 2).sum(axis=0) / max(length.sum(), 1e-12))


def find_margin(contour: Surface, core: Surface) -> Margin | None:
    """The margin: the contour's open edge, else the core's, else where the core comes out of the contour.

    None when both are closed and one holds the other.
    """
    for surface, words in ((contour, "margin of the contour"), (core, "margin of the core")):
        line = _long_loop(surface)
        if line is not None:
            return Margin(line, True, _area_centre_mm(surface), words)
    return _where_core_comes_out(contour, core)


def _long_loop(surface: Surface) -> Floats | None:
    """(k, 3) the longest open edge, or None."""
    if not surface.loops:
        return None
    line = np.array(surface.vertices_mm[surface.loops[0]])
    length = np.linalg.norm(np.roll(line, -1, axis=0) - line, axis=1).sum()
    return line if length >= _LEAST_LOOP_MM else None


def _area_centre_mm(surface: Surface) -> Floats:
    """(3,) area-weighted middle of a surface, mm."""
    weight = surface.vertex_areas_mm2[:, None]
    return np.asarray((weight * surface.vertices_mm).sum(axis=0) / weight.sum())


def _where_core_comes_out(contour: Surface, core: Surface) -> Margin | None:
    """Closed surfaces: the line round the part of the core that the contour covers.

    Covered means deeper than 0.1 mm inside the contour. A contour that is a solid shell round its core
    (natural enamel) holds no core vertex inside; there covered means within 0.1 mm of the shell.
    """
    depth = signed_distance(contour, core.vertices_mm).distance_mm
    covered = depth < -_CLEAR_MM
    if covered.mean() < 0.1:
        covered = np.abs(depth) < _CLEAR_MM
    if not 0.02 < covered.mean() < 0.98:
        return None
    faces = core.faces[covered[core.faces].all(axis=1)]
    if len(faces) < 6:
        return None
    cap = Surface(core.vertices_mm, faces)
    line = _long_loop(cap)
    if line is None:
        return None
    return Margin(line, True, _area_centre_mm(cap), "where the core leaves the contour")


def margin_curve(local_mm: Floats) -> tuple[Floats, Floats]:
    """(k,) azimuths in rad and (k,) heights in mm of a margin given by (m, 3) local points, periodic."""
    azimuth = np.arctan2(local_mm[:, 1], local_mm[:, 0])
    order = np.argsort(azimuth, kind="stable")
    even = -np.pi + 2 * np.pi * (np.arange(_AZIMUTHS) + 0.5) / _AZIMUTHS
    height = np.interp(even, azimuth[order], local_mm[order, 2], period=2 * np.pi)
    ring = np.concatenate([height[-_SMOOTHING:], height, height[:_SMOOTHING]])
    window = np.hanning(2 * _SMOOTHING + 3)[1:-1]
    return even, np.asarray(np.convolve(ring, window / window.sum(), mode="valid"))
