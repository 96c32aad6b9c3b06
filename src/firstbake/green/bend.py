"""How the core bends: its curvature over patches of the size of the porcelain above them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.green.spread import spread
from firstbake.mesh import Floats, Surface

MOST_CURVED_PER_MM = 2.0
"""A patch bent more than 1/0.5 mm is an edge of the mesh, not a shape (judgement, no source)."""

_PATCHES_MM = (0.25, 0.5, 1.0)


def bend_sums(surface: Surface) -> tuple[Floats, Floats]:
    """Mean curvature times area (mm) and Gauss curvature times area (unit 1) that each vertex carries.

    Half of length times turn of each edge, shared by its two ends; the angle that is missing to a full
    turn at each inner vertex. These are the terms of Steiner's formula for polyhedra, exact for any
    triangles: they count a sharp edge by its whole turn, and the noise of neighbours cancels.

    returns : (n,) and (n,); free edges and their vertices carry none of their own
    source  : Cohen-Steiner and Morvan 2003, Restricted Delaunay triangulations and normal cycle
    """
    count, faces, points = len(surface.vertices_mm), surface.faces, surface.vertices_mm
    starts, ends = (np.concatenate([faces[:, (k + j) % 3] for k in range(3)]) for j in (0, 1))
    owner = np.tile(np.arange(len(faces)), 3)
    key = np.minimum(starts, ends).astype(np.int64) * count + np.maximum(starts, ends)
    order = np.argsort(key, kind="stable")
    pair = np.flatnonzero(key[order][1:] == key[order][:-1])
    one, two = order[pair], order[pair + 1]
    edge = points[ends[one]] - points[starts[one]]
    first, second = surface.face_normals[owner[one]], surface.face_normals[owner[two]]
    length = np.linalg.norm(edge, axis=1)
    sine = np.einsum("ij,ij->i", np.cross(first, second), edge) / np.maximum(length, 1e-12)
    turn = length * np.arctan2(sine, np.einsum("ij,ij->i", first, second))
    mean, missing = np.zeros(count), np.full(count, 2 * np.pi)
    for row in (starts[one], ends[one]):
        np.add.at(mean, row, 0.25 * turn)
    for k in range(3):
        u = points[faces[:, (k + 1) % 3]] - points[faces[:, k]]
        v = points[faces[:, (k + 2) % 3]] - points[faces[:, k]]
        angle = np.arctan2(np.linalg.norm(np.cross(u, v), axis=1), np.einsum("ij,ij->i", u, v))
        np.add.at(missing, faces[:, k], -angle)
    missing[surface.vertex_areas_mm2 <= 0] = 0.0
    for loop in surface.loops:
        missing[loop] = 0.0
    return mean, missing


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
        """Curvatures of the core, each patch's sum over its area, as Steiner's formula needs them."""
        area = np.maximum(core.vertex_areas_mm2, 1e-9)
        both = np.column_stack(bend_sums(core)) / area[:, None]
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
