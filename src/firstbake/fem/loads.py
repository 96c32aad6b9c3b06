"""Outer forces on the nodes: weight and surface tension, in scaled units."""

from dataclasses import dataclass

import numpy as np

from firstbake.fem.law import Glass
from firstbake.fem.tetrahedra import Index
from firstbake.mesh import Floats


@dataclass(frozen=True, eq=False)
class Loads:
    """What acts on the porcelain besides its own sintering stress.

    glass           : constants that set the scale
    down            : (3,) direction of gravity, unit length, or None without weight
    surface_tension : whether the free surface pulls
    """

    glass: Glass
    down: tuple[float, float, float] | None = None
    surface_tension: bool = False

    def on_nodes_mm2(self, points_mm: Floats, masses_mm3: Floats, free_faces: Index) -> Floats:
        """(n, 3) forces over the unit of stress, mm².

        masses_mm3 : (n,) solid volume of each node      free_faces : (f, 3) corners of the free surface
        """
        load = np.zeros((len(points_mm), 3))
        if self.down is not None:
            load += masses_mm3[:, None] * (self.glass.weight_per_mm * np.array(self.down))
        if self.surface_tension:
            load -= self.glass.tension_mm * area_slopes_mm(points_mm, free_faces)
        return load


def area_slopes_mm(points_mm: Floats, faces: Index) -> Floats:
    """(n, 3) how fast the area of the faces grows with each node, mm (the shape derivative of the area)."""
    slopes = np.zeros((len(points_mm), 3))
    corners = points_mm[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    for k in range(3):
        across = corners[:, (k + 2) % 3] - corners[:, (k + 1) % 3]
        np.add.at(slopes, faces[:, k], 0.5 * np.cross(normal, across))
    return slopes
