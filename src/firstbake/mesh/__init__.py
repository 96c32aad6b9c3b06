"""Surfaces: triangles, distances, sections, volumes, repair."""

from firstbake.mesh.curvature import principal_curvatures
from firstbake.mesh.grid import Grid, zero_surface
from firstbake.mesh.loops import boundary_loops, loop_area_vector_mm2, loop_length_mm
from firstbake.mesh.nearest import Nearest, cast_rays, nearest, signed_distance, winding_number
from firstbake.mesh.patches import edges_of, face_components, sub_surface, vertex_components
from firstbake.mesh.probe import Probe
from firstbake.mesh.repair import Repair, heal
from firstbake.mesh.section import Polyline, section
from firstbake.mesh.surface import Floats, Ints, Surface
from firstbake.mesh.unit import find_unit, main_extent, scale_to_mm, unit_name
from firstbake.mesh.volume import capped, overlap_volume, volume_between, zip_loops
from firstbake.mesh.weld import identical, weld

__all__ = [
    "Floats",
    "Grid",
    "Ints",
    "Nearest",
    "Polyline",
    "Probe",
    "Repair",
    "Surface",
    "boundary_loops",
    "capped",
    "cast_rays",
    "edges_of",
    "face_components",
    "find_unit",
    "heal",
    "identical",
    "loop_area_vector_mm2",
    "loop_length_mm",
    "main_extent",
    "nearest",
    "overlap_volume",
    "principal_curvatures",
    "scale_to_mm",
    "section",
    "signed_distance",
    "sub_surface",
    "unit_name",
    "vertex_components",
    "volume_between",
    "weld",
    "winding_number",
    "zero_surface",
    "zip_loops",
]
