"""Readings: how far points are from contour and core, and which spot of the contour they face."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.layering.enamel import Site
from firstbake.mesh import Floats, Nearest, Surface, nearest, winding_number
from firstbake.teeth import Frame

_ON_EDGE = 1e-6
_TOUCHING_MM = 1e-4
_VAGUE = 0.5


@dataclass(frozen=True, eq=False)
class Sides:
    """Sides of p points that are known beforehand: -1 inside, 1 outside, 0 unknown. contour, core : (p,)"""

    contour: NDArray[np.int8]
    core: NDArray[np.int8]


@dataclass(frozen=True, eq=False)
class Reading:
    """What the cut-back rules need at p points.

    contour_mm : (p,) signed distance to the contour, less than 0 inside
    core_mm    : (p,) signed distance to the core, less than 0 inside
    corners    : (p, 3) contour vertices round the foot      weights : (p, 3) their barycentric weights
    foot_mm    : (p, 3) the foot on the contour
    across     : (p,) -1 distal to 1 mesial                  height_mm : (p,) local z
    end_mm     : (p,) distance of the foot to the margin, less than 0 beyond it
    """

    contour_mm: Floats
    core_mm: Floats
    corners: NDArray[np.int32]
    weights: Floats
    foot_mm: Floats
    across: Floats
    height_mm: Floats
    end_mm: Floats

    def at_foot(self, values: Floats) -> Floats:
        """Values at the contour's vertices, (n,) or (n, k), carried to the feet."""
        if values.ndim == 1:
            return np.asarray(np.einsum("pk,pk->p", self.weights, values[self.corners]))
        return np.asarray(np.einsum("pk,pkj->pj", self.weights, values[self.corners]))


@dataclass(frozen=True, eq=False)
class Reader:
    """Takes readings against one contour and one core."""

    contour: Surface
    core: Surface
    frame: Frame
    site: Site
    on_loop: NDArray[np.bool_]

    def read(self, points_mm: Floats, *, sides: Sides | None = None) -> Reading:
        """Exact readings of (p, 3) points, mm.

        sides : what is known of the points' sides; None where all of them lie in or near the veneer, so that
                the normal at the foot tells the side (the winding number where it does not)
        """
        if sides is None:
            outer, inner = _by_normal(self.contour, points_mm), _by_normal(self.core, points_mm)
        else:
            outer = _by_winding(self.contour, points_mm, sides.contour)
            inner = _by_winding(self.core, points_mm, sides.core)
        weights = barycentric(self.contour, outer)
        corners = self.contour.faces[outer.face]
        local = self.frame.to_local(points_mm)
        end = np.einsum("pk,pk->p", weights, self.site.end_mm[corners])
        end = np.minimum(end, -self._beyond_loop(points_mm, outer, weights))
        return Reading(
            contour_mm=outer.distance_mm,
            core_mm=inner.distance_mm,
            corners=corners,
            weights=weights,
            foot_mm=outer.foot_mm,
            across=self.site.across_of(local[:, 0]),
            height_mm=local[:, 2],
            end_mm=end,
        )

    def _beyond_loop(self, points_mm: Floats, found: Nearest, weights: Floats) -> Floats:
        """How far points lie past a boundary loop of the contour, along the surface, mm; -inf elsewhere."""
        corners = self.contour.faces[found.face]
        off_loop = np.where(self.on_loop[corners], 0.0, weights).sum(axis=1)
        away = points_mm - found.foot_mm
        normal = self.contour.face_normals[found.face]
        along = away - np.einsum("pj,pj->p", away, normal)[:, None] * normal
        past = np.linalg.norm(along, axis=1)
        return np.where(off_loop < _ON_EDGE, past, -np.inf)


def barycentric(surface: Surface, found: Nearest) -> Floats:
    """(p, 3) barycentric weights of the feet in their faces."""
    a, b, c = (surface.vertices_mm[surface.faces[found.face, k]] for k in range(3))
    cross = surface.face_crosses_mm2[found.face]
    square = np.maximum(np.einsum("ij,ij->i", cross, cross), 1e-300)
    u = np.einsum("ij,ij->i", np.cross(c - b, found.foot_mm - b), cross) / square
    v = np.einsum("ij,ij->i", np.cross(a - c, found.foot_mm - c), cross) / square
    weights = np.clip(np.column_stack([u, v, 1.0 - u - v]), 0.0, 1.0)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def _by_normal(surface: Surface, points_mm: Floats) -> Nearest:
    """Distance signed by the normal carried to the foot, by the winding number where that is vague."""
    found = nearest(surface, points_mm)
    weights = barycentric(surface, found)
    normal = np.einsum("pk,pkj->pj", weights, surface.vertex_normals[surface.faces[found.face]])
    side = np.einsum("pj,pj->p", points_mm - found.foot_mm, normal)
    inside = side < 0
    vague = np.flatnonzero((np.abs(side) < _VAGUE * found.distance_mm) & (found.distance_mm > _TOUCHING_MM))
    inside[vague] = winding_number(surface, points_mm[vague]) > 0.5
    return Nearest(np.where(inside, -found.distance_mm, found.distance_mm), found.foot_mm, found.face)


def _by_winding(surface: Surface, points_mm: Floats, known: NDArray[np.int8]) -> Nearest:
    """Distance with the known sign, or that of the winding number where known is 0."""
    found = nearest(surface, points_mm)
    inside = known < 0
    asked = np.flatnonzero(known == 0)
    inside[asked] = winding_number(surface, points_mm[asked]) > 0.5
    return Nearest(np.where(inside, -found.distance_mm, found.distance_mm), found.foot_mm, found.face)
