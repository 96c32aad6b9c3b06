"""Values on a regular grid, and the surface where they are zero."""

from dataclasses import dataclass

import igl
import numpy as np

from firstbake.mesh.surface import Floats, Surface


@dataclass(frozen=True)
class Grid:
    """A regular grid of nx × ny × nz nodes.

    origin_mm : (3,) node (0, 0, 0)      step_mm : spacing, mm      counts : (nx, ny, nz)
    """

    origin_mm: tuple[float, float, float]
    step_mm: float
    counts: tuple[int, int, int]

    @staticmethod
    def around(surface: Surface, *, step_mm: float, margin_mm: float) -> "Grid":
        """A grid that holds the surface with margin_mm to spare on every side."""
        low, high = surface.bounds_mm
        counts = np.ceil((high - low + 2 * margin_mm) / step_mm).astype(int) + 1
        x, y, z = (low - margin_mm).tolist()
        return Grid((x, y, z), step_mm, (int(counts[0]), int(counts[1]), int(counts[2])))

    @property
    def points_mm(self) -> Floats:
        """(nx·ny·nz, 3) node positions, x running fastest."""
        x, y, z = (o + self.step_mm * np.arange(c) for o, c in zip(self.origin_mm, self.counts, strict=True))
        zz, yy, xx = np.meshgrid(z, y, x, indexing="ij")
        return np.column_stack([xx.ravel(), yy.ravel(), zz.ravel()])


def zero_surface(grid: Grid, values: Floats) -> Surface:
    """Marching cubes: the surface where values (nx·ny·nz, x fastest) cross 0; less than 0 is inside.

    raises : BadMesh when the values never change sign
    """
    vertices, faces, _ = igl.marching_cubes(
        np.ascontiguousarray(values, dtype=np.float64), grid.points_mm, *grid.counts, 0.0
    )
    found = Surface(np.asarray(vertices), np.asarray(faces).reshape(-1, 3))
    return found if found.volume_mm3 >= 0 else Surface(found.vertices_mm, found.faces[:, ::-1])
