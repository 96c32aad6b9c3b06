"""Sintering by finite elements: what a green body becomes, and which green body becomes the wanted one."""

from firstbake.fem.body import Body
from firstbake.fem.carry import Carrier, carrier_of
from firstbake.fem.element import Motion, NodeAveraged
from firstbake.fem.estimate import coarser_build, with_error_estimate
from firstbake.fem.fire import Cancelled, Fired, Hold, Progress, Run, fire
from firstbake.fem.law import (
    Glass,
    film_porosity,
    film_thickness_ratio,
    free_length_ratio,
    free_porosity,
)
from firstbake.fem.loads import Loads
from firstbake.fem.margin import LEAST_MM, RIM_MM, brake_per_mm2
from firstbake.fem.overbuild import INSIDE_UM, Overbuilt, overbuild, overbuilt_in_sweeps
from firstbake.fem.quadratic import Curved, Quadratic, curved, fire_quadratic
from firstbake.fem.report import MeshReport
from firstbake.fem.solver import LinearSolver, SolverMaker, solver_named
from firstbake.fem.tetrahedra import (
    Flags,
    Index,
    edge_table,
    outer_faces,
    quality,
    volumes_and_gradients,
    volumes_mm3,
)
from firstbake.fem.unknowns import Unknowns
from firstbake.fem.veneer import VeneerMesh, mesh_veneer

__all__ = [
    "INSIDE_UM",
    "LEAST_MM",
    "RIM_MM",
    "Body",
    "Cancelled",
    "Carrier",
    "Curved",
    "Fired",
    "Flags",
    "Glass",
    "Hold",
    "Index",
    "LinearSolver",
    "Loads",
    "MeshReport",
    "Motion",
    "NodeAveraged",
    "Overbuilt",
    "Progress",
    "Quadratic",
    "Run",
    "SolverMaker",
    "Unknowns",
    "VeneerMesh",
    "brake_per_mm2",
    "carrier_of",
    "coarser_build",
    "curved",
    "edge_table",
    "film_porosity",
    "film_thickness_ratio",
    "fire",
    "fire_quadratic",
    "free_length_ratio",
    "free_porosity",
    "mesh_veneer",
    "outer_faces",
    "overbuild",
    "overbuilt_in_sweeps",
    "quality",
    "solver_named",
    "volumes_and_gradients",
    "volumes_mm3",
    "with_error_estimate",
]
