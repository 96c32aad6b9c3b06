"""Gauge: what a calliper or depth gauge reads on a surface in tooth coordinates."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Floats, Ints, Surface, edges_of, nearest
from firstbake.teeth import Frame

X, Y, Z = 0, 1, 2


@dataclass(frozen=True, eq=False)
class Gauge:
    """A surface in the tooth's own coordinates: x mesial, y labial, z incisal, mm."""

    surface: Surface

    @staticmethod
    def on(surface: Surface, frame: Frame) -> "Gauge":
        """Gauge of a surface given in file coordinates."""
        return Gauge(surface.moved(frame.to_local(surface.vertices_mm)))

    @property
    def points_mm(self) -> Floats:
        """(n, 3) local vertices."""
        return self.surface.vertices_mm

    @cached_property
    def edges(self) -> Ints:
        """(k, 2) every edge once."""
        return edges_of(self.surface.faces)

    def ends(self, along: int, *, plane: int, at_mm: float) -> tuple[float, float]:
        """Least and greatest coordinate `along` on the plane (axis `plane` = at_mm); NaN for no cut."""
        a, b = self.points_mm[self.edges[:, 0]], self.points_mm[self.edges[:, 1]]
        low, high = a[:, plane] - at_mm, b[:, plane] - at_mm
        cut = (low < 0) != (high < 0)
        if not cut.any():
            return float("nan"), float("nan")
        share = low[cut] / (low[cut] - high[cut])
        found = a[cut, along] + share * (b[cut, along] - a[cut, along])
        return float(found.min()), float(found.max())

    def span(self, along: int, *, plane: int, at_mm: float) -> float:
        """What a calliper reads `along` an axis on the plane `plane` = at_mm, mm; NaN for no cut."""
        low, high = self.ends(along, plane=plane, at_mm=at_mm)
        return high - low

    def hits(self, along: int, *, at_mm: tuple[float, float]) -> Floats:
        """(h,) sorted coordinates where a line `along` an axis goes through the surface.

        at_mm : the line's two other coordinates, in the order of the axes
        """
        i, j = [axis for axis in (X, Y, Z) if axis != along]
        corners = self.points_mm[self.surface.faces]
        u, v = corners[:, :, i] - at_mm[0], corners[:, :, j] - at_mm[1]
        close = (u.min(1) <= 0) & (u.max(1) >= 0) & (v.min(1) <= 0) & (v.max(1) >= 0)
        u, v, height = u[close], v[close], corners[close][:, :, along]
        weights = np.column_stack(
            [u[:, (k + 1) % 3] * v[:, (k + 2) % 3] - u[:, (k + 2) % 3] * v[:, (k + 1) % 3] for k in range(3)]
        )
        total = weights.sum(axis=1)
        inside = (np.abs(total) > 1e-15) & ((weights * np.sign(total)[:, None]) >= 0).all(axis=1)
        return np.sort((weights[inside] * height[inside]).sum(axis=1) / total[inside])

    def top(self, where: NDArray[np.bool_]) -> Floats | None:
        """(3,) highest vertex among those marked, or None when none is."""
        rows = np.flatnonzero(where)
        return None if len(rows) == 0 else self.points_mm[rows[np.argmax(self.points_mm[rows, Z])]]

    def depth_to(self, other: "Gauge", point_mm: Floats) -> float:
        """Shortest distance from a local point to another surface, mm."""
        return float(nearest(other.surface, point_mm[None]).distance_mm[0])
