"""Surfaces: triangles, distances, sections, volumes, repair."""

from firstbake.mesh.grid import Grid, zero_surface
from firstbake.mesh.loops import boundary_loops
from firstbake.mesh.nearest import Nearest, cast_rays, nearest, signed_distance, winding_number
from firstbake.mesh.surface import Floats, Surface

__all__ = [
    "Floats",
    "Grid",
    "Nearest",
    "Surface",
    "boundary_loops",
    "cast_rays",
    "nearest",
    "signed_distance",
    "winding_number",
    "zero_surface",
]
