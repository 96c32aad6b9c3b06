"""How good a veneer mesh is, and when it must be refused."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstbake.errors import BadMesh
from firstbake.fem.depth import Depth
from firstbake.fem.tetrahedra import quality
from firstbake.mesh import Surface

if TYPE_CHECKING:
    from firstbake.fem.veneer import VeneerMesh

_SAMPLES = 2000
_OFF_MM = 0.1  # a contour place this far from the mesh is not covered
_MOST_UNCOVERED = 0.05  # share of the veneered contour (chosen here)
_MOST_STRAY = 0.12  # share of the free surface, the margin's end face included (chosen here)
_LEAST_QUALITY = 1e-4


@dataclass(frozen=True)
class MeshReport:
    """Figures of a veneer mesh.

    nodes, elements    : counts
    least_quality      : of all elements, 1 regular, 0 flat      low_quality : first percentile
    volume_mm3         : of the mesh      room_mm3 : measured in another way, or None when not given
    thin_mm2           : contour over porcelain too thin to mesh, left to the film rule, mm²
    uncovered_share    : share of the veneered contour that lies 0.1 mm or more from the mesh
    stray_share        : share of the mesh's free area that lies 0.1 mm or more from the contour
    """

    nodes: int
    elements: int
    least_quality: float
    low_quality: float
    volume_mm3: float
    room_mm3: float | None
    thin_mm2: float
    uncovered_share: float
    stray_share: float


def report_of(mesh: "VeneerMesh", depth: Depth, *, volume_mm3: float | None) -> MeshReport:
    """Measure a mesh. raises : BadMesh when it does not stand for the room it was made from."""
    contour = depth.contour
    thin, uncovered = _cover(mesh, depth)
    free = Surface(mesh.nodes_mm, mesh.free_faces.astype(np.int32))
    middles = mesh.nodes_mm[mesh.free_faces].mean(axis=1)
    stray = depth.to_contour.nearest(middles).distance_mm > _OFF_MM
    shapes = quality(mesh.nodes_mm, mesh.tets)
    report = MeshReport(
        nodes=len(mesh.nodes_mm),
        elements=len(mesh.tets),
        least_quality=float(shapes.min()),
        low_quality=float(np.percentile(shapes, 1)),
        volume_mm3=mesh.volume_mm3,
        room_mm3=volume_mm3,
        thin_mm2=thin * contour.area_mm2,
        uncovered_share=uncovered,
        stray_share=float(free.face_areas_mm2[stray].sum() / max(free.area_mm2, 1e-12)),
    )
    _refuse(report)
    return report


def _cover(mesh: "VeneerMesh", depth: Depth) -> tuple[float, float]:
    """Shares of the contour's area: too thin to mesh, and of the veneered rest that the mesh misses."""
    contour = depth.contour
    rows = np.arange(0, len(contour.vertices_mm), max(1, len(contour.vertices_mm) // _SAMPLES))
    places, area = contour.vertices_mm[rows], contour.vertex_areas_mm2[rows]
    room = depth.to_core.nearest(places).distance_mm
    there = Surface(mesh.nodes_mm, mesh.faces.astype(np.int32)).probe.nearest(places).distance_mm
    thin = (room < mesh.least_mm) & (there > mesh.least_mm)
    veneered = room > 2 * _OFF_MM
    missed = veneered & (there > _OFF_MM)
    whole = max(float(area.sum()), 1e-12)
    return float(area[thin].sum()) / whole, float(area[missed].sum()) / max(
        float(area[veneered].sum()), 1e-12
    )


def _refuse(report: MeshReport) -> None:
    if report.least_quality < _LEAST_QUALITY:
        raise BadMesh("the room between core and contour could not be meshed soundly; try another step")
    if report.uncovered_share > _MOST_UNCOVERED:
        raise BadMesh(
            f"{report.uncovered_share:.0%} of the contour cannot be filled with porcelain: core or contour "
            f"has "
            "large holes, or they do not belong together; repair the scans or give the veneered part alone"
        )
    if report.stray_share > _MOST_STRAY:
        raise BadMesh(
            f"{report.stray_share:.0%} of the porcelain's surface lies away from the contour: the contour "
            f"has a "
            "large hole or its margin is far from the core's; repair the scans"
        )
    if report.room_mm3 is not None and abs(report.volume_mm3 / report.room_mm3 - 1) > 0.1:
        raise BadMesh(
            f"the meshed room has {report.volume_mm3:.1f} mm³ but {report.room_mm3:.1f} mm³ lie between the "
            "surfaces; repair the scans"
        )
