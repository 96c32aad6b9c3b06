"""Columns of porcelain: where each one stands on the core, and how high it must be green."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.green.bend import Bend
from firstbake.green.laws import free_heights_mm, green_heights_mm, usable_curvatures
from firstbake.green.reach import Reach
from firstbake.green.spread import spread, unit
from firstbake.mesh import Floats, Surface, nearest

_DEGENERATE_MM = 0.05  # below this height the direction from the foot is noise and the normal leads


@dataclass(frozen=True, eq=False)
class Columns:
    """One column for each of the p vertices of a surface over the core.

    surface    : the vertices at their fired places
    height_mm  : (p,) distance from the core, at least 0; 0 where the vertex must not move
    direction  : (p, 3) unit, outward from the foot
    k1_per_mm, k2_per_mm : (p,) curvature of the core at the foot, averaged
    reach      : how free each column is, and toward where
    """

    surface: Surface
    height_mm: Floats
    direction: Floats
    k1_per_mm: Floats
    k2_per_mm: Floats
    reach: Reach

    def shift_mm(self, heights_mm: Floats, factors: Floats, *, smooth_mm: Floats) -> Floats:
        """(p, 3) way of each vertex from its fired to its green place, mm.

        heights_mm : (m, p) fired interfaces, extra included      factors : (m,) green over fired volume
        smooth_mm  : (p,) reach of the smoothing that keeps neighbours together
        """
        k1, k2, _ = usable_curvatures(self.k1_per_mm, self.k2_per_mm, heights_mm[-1], float(np.max(factors)))
        bonded = green_heights_mm(heights_mm, factors, k1, k2)[-1] - self.height_mm
        top = free_heights_mm(heights_mm, factors)[-1]
        far = self.height_mm > _DEGENERATE_MM
        growth = np.divide(top, self.height_mm, out=np.ones_like(top), where=far) - 1.0
        loose = growth[:, None] * (self.surface.vertices_mm - self.reach.anchor_mm)
        smooth = spread(self.surface, np.column_stack([bonded, self.direction, loose]), smooth_mm)
        held = smooth[:, :1] * unit(smooth[:, 1:4], self.direction)
        free = self.reach.free_share[:, None]
        return np.asarray((1 - free) * held + free * smooth[:, 4:])

    def opened(self, heights_mm: Floats, factor: float) -> NDArray[np.bool_]:
        """(p,) True where a hollow of the core had to be opened for the green column to fit."""
        return usable_curvatures(self.k1_per_mm, self.k2_per_mm, heights_mm, factor)[2]


def stand(bend: Bend, surface: Surface, reach: Reach, *, height_mm: Floats | None = None) -> Columns:
    """Columns from the core to every vertex of a surface over it.

    height_mm : (p,) height to take for each column, or None for the distance to the core
    """
    points, normals = surface.vertices_mm, surface.vertex_normals
    found = nearest(bend.core, points)
    away = points - found.foot_mm
    outside = np.einsum("ij,ij->i", away, normals) > 0
    weight = np.clip(found.distance_mm / _DEGENERATE_MM, 0.0, 1.0) * outside
    upward = away / np.maximum(found.distance_mm, 1e-12)[:, None]
    mixed = weight[:, None] * upward + (1 - weight)[:, None] * normals
    direction = unit(mixed, np.zeros_like(mixed))
    k1, k2 = bend.at(found.face, found.foot_mm, found.distance_mm)
    return Columns(surface, found.distance_mm if height_mm is None else height_mm, direction, k1, k2, reach)
