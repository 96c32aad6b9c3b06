"""A surface made ready for many questions: its search tree is built once."""

from functools import cached_property

import igl
import numpy as np
from numpy.typing import NDArray

from firstbake.mesh.nearest import Nearest, _morton_order
from firstbake.mesh.surface import Floats, Surface


class Probe:
    """Nearest points and rays of one surface, as nearest() and cast_rays().

    Building the tree costs as much as some thousands of questions; a Probe builds it once, when first asked.
    """

    def __init__(self, surface: Surface) -> None:
        self.surface = surface
        self._vertices = np.array(surface.vertices_mm)
        self._faces = np.array(surface.faces, dtype=np.int64)

    @cached_property
    def _tree(self) -> "igl.AABB":
        tree = igl.AABB()
        tree.init(self._vertices, self._faces)
        return tree

    def nearest(self, points_mm: Floats) -> Nearest:
        """Nearest point of the surface for each of the (p, 3) points, exact in float64."""
        points = np.ascontiguousarray(points_mm, dtype=np.float64).reshape(-1, 3)
        if len(points) == 0:
            return Nearest(np.zeros(0), np.zeros((0, 3)), np.zeros(0, dtype=np.int64))
        order = _morton_order(points)
        squared, face, foot = self._tree.squared_distance(self._vertices, self._faces, points[order])
        back = np.empty_like(order)
        back[order] = np.arange(len(order))
        distance = np.sqrt(np.asarray(squared, dtype=np.float64).ravel())
        return Nearest(
            distance[back],
            np.asarray(foot).reshape(-1, 3)[back],
            np.asarray(face).ravel().astype(np.int64)[back],
        )

    @cached_property
    def _solid_angles(self) -> "igl.FastWindingNumberBVH":
        tree = igl.FastWindingNumberBVH()
        tree.init(self._vertices, self._faces)
        return tree

    def winding(self, points_mm: Floats) -> Floats:
        """(p,) generalised winding numbers, as winding_number()."""
        points = np.ascontiguousarray(points_mm, dtype=np.float64).reshape(-1, 3)
        if len(points) == 0:
            return np.zeros(0)
        order = _morton_order(points)
        winding = np.empty(len(points))
        winding[order] = np.asarray(self._solid_angles.winding_number(points[order])).ravel()
        return winding

    def rays(self, origins_mm: Floats, directions: Floats) -> tuple[Floats, NDArray[np.int64]]:
        """First hits as cast_rays(): (p,) distance, NaN for a miss, and (p,) face, -1 for a miss."""
        unit = directions / np.linalg.norm(directions, axis=1, keepdims=True)
        hits = self._tree.intersect_ray_first(
            self._vertices, self._faces, np.ascontiguousarray(origins_mm), np.ascontiguousarray(unit)
        )
        face = np.asarray(hits[0]).ravel().astype(np.int64)
        distance = np.asarray(hits[1], dtype=np.float64).ravel()
        return np.where(face >= 0, distance, np.nan), face
