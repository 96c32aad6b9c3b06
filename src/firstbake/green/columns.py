"""Columns of porcelain: where each one stands on the core, and how high it must be green."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.green.laws import free_heights_mm, green_heights_mm, usable_curvatures
from firstbake.green.reach import Reach
from firstbake.green.spread import spread, turned
from firstbake.mesh import Floats, Surface, nearest, principal_curvatures

MOST_CURVED_PER_MM = 2.0
"""A curvature beyond 1/0.5 mm is an edge of the mesh, not a shape (judgement, no source)."""

_PATCHES_MM = (0.25, 0.5, 1.0)
_DEGENERATE_MM = 0.05  # below this height the direction from the foot is noise and the normal leads


@dataclass(frozen=True, eq=False)
class Bend:
    """Mean and Gauss curvature of a core, averaged over patches of several sizes.

    mean_per_mm, gauss_per_mm2 : (3, c) one row for each patch size, at the core's vertices
    """

    core: Surface
    mean_per_mm: Floats
    gauss_per_mm2: Floats

    @staticmethod
    def of(core: Surface) -> "Bend":
        """Curvatures of the core, limited to MOST_CURVED_PER_MM before they are averaged.

        The area-weighted means of mean and Gauss curvature are what Steiner's formula needs over a patch.
        """
        k1, k2 = (np.clip(k, -MOST_CURVED_PER_MM, MOST_CURVED_PER_MM) for k in principal_curvatures(core))
        both = np.column_stack([0.5 * (k1 + k2), k1 * k2])
        rows = [spread(core, both, size) for size in _PATCHES_MM]
        return Bend(core, np.vstack([r[:, 0] for r in rows]), np.vstack([r[:, 1] for r in rows]))

    def at(self, face: NDArray[np.int64], foot_mm: Floats, height_mm: Floats) -> tuple[Floats, Floats]:
        """Principal curvatures at p feet, averaged over about half the height of each column.

        face : (p,) face of each foot      foot_mm : (p, 3)      height_mm : (p,)
        returns : k1 >= k2, (p,) each, 1/mm
        """
        corners, weights = self.core.faces[face], _barycentric(self.core, face, foot_mm)
        mean, gauss = (
            np.einsum("spk,pk->sp", rows[:, corners], weights)
            for rows in (self.mean_per_mm, self.gauss_per_mm2)
        )
        place = np.interp(np.log(np.maximum(0.5 * height_mm, 1e-3)), np.log(_PATCHES_MM), np.arange(3.0))
        low = np.minimum(place.astype(int), len(_PATCHES_MM) - 2)
        share, column = place - low, np.arange(len(place))
        h, k = ((1 - share) * rows[low, column] + share * rows[low + 1, column] for rows in (mean, gauss))
        spread_of_two = np.sqrt(np.maximum(h * h - k, 0.0))
        limit = MOST_CURVED_PER_MM
        return np.clip(h + spread_of_two, -limit, limit), np.clip(h - spread_of_two, -limit, limit)


def _barycentric(surface: Surface, face: NDArray[np.int64], points: Floats) -> Floats:
    a, b, c = (surface.vertices_mm[surface.faces[face, k]] for k in range(3))
    cross = surface.face_crosses_mm2[face]
    square = np.maximum(np.einsum("ij,ij->i", cross, cross), 1e-24)
    second = np.einsum("ij,ij->i", np.cross(points - a, c - a), cross) / square
    third = np.einsum("ij,ij->i", np.cross(b - a, points - a), cross) / square
    weights = np.clip(np.column_stack([1 - second - third, second, third]), 0.0, 1.0)
    return np.asarray(weights / np.maximum(weights.sum(axis=1, keepdims=True), 1e-12))


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
        held = spread(self.surface, bonded, smooth_mm)[:, None] * turned(
            self.surface, self.direction, smooth_mm
        )
        free = self.reach.free_share[:, None]
        if not free.any():
            return held
        height = self.height_mm
        top = free_heights_mm(heights_mm, factors)[-1]
        growth = np.divide(top, height, out=np.ones_like(top), where=height > _DEGENERATE_MM) - 1.0
        loose = spread(
            self.surface, growth[:, None] * (self.surface.vertices_mm - self.reach.anchor_mm), smooth_mm
        )
        return np.asarray((1 - free) * held + free * loose)

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
    unit = away / np.maximum(found.distance_mm, 1e-12)[:, None]
    mixed = weight[:, None] * unit + (1 - weight)[:, None] * normals
    length = np.linalg.norm(mixed, axis=1, keepdims=True)
    direction = np.divide(mixed, length, out=np.zeros_like(mixed), where=length > 1e-9)
    k1, k2 = bend.at(found.face, found.foot_mm, found.distance_mm)
    return Columns(surface, found.distance_mm if height_mm is None else height_mm, direction, k1, k2, reach)
