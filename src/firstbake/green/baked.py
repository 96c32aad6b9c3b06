"""What a given green build becomes in the furnace."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstbake.case import Case
from firstbake.errors import BadMesh
from firstbake.fem import LEAST_MM, RIM_MM, VeneerMesh, carrier_of, film_thickness_ratio, fire, mesh_veneer
from firstbake.green.allowance import extra_of
from firstbake.green.packed import end_density, ground_of_build, packed_densities
from firstbake.green.sintered import STEP_MM, Progress, from_furnace
from firstbake.layering import Layers
from firstbake.mesh import Floats, Surface, nearest, signed_distance, sub_surface
from firstbake.room import Room

_MOST_OFF_MM = 2.5  # a build farther from the wanted contour than this stands elsewhere (chosen here)


@dataclass(frozen=True, eq=False)
class Baked:
    """A fired build (n vertices of the green mesh).

    fired         : vertex for vertex the green mesh
    deviation_mm  : (n,) signed distance to the contour wanted from the furnace (wanted contour plus fired
                    allowances), greater than 0 where too much
    over_contour_mm : (n,) the same to the wanted contour itself, before grinding
    counted       : (n,) vertices over porcelain, away from the margin's rim
    porosity, tension : (n,) at the vertices, unit 1 and relative
    nodes, volume_mm3, fired_volume_mm3 : of the mesh
    """

    fired: Surface
    deviation_mm: Floats
    over_contour_mm: Floats
    counted: NDArray[np.bool_]
    porosity: Floats
    tension: Floats
    nodes: int
    volume_mm3: float
    fired_volume_mm3: float


def bake_green(
    case: Case, room: Room, green: Surface, *, layers: Layers, progress: Progress | None = None
) -> Baked:
    """Fire any green build over the case's core with the sintering model, meshed anew.

    green  : outer surface of the build, in the case's coordinates. With as many vertices as the contour it
             is taken to be vertex for vertex the contour; else each vertex goes by the nearest one.
    layers : the plan's layers say which powder lies at which share of the height; they matter only when the
             powders are packed differently
    raises : BadMesh when the build cannot be meshed over the core, BadSum when it cannot be fired
    """
    contour, wanted = case.contour.surface, from_furnace(case, extra_of(case, layers))
    partner = _partners(contour, green)
    factors = np.array([layer.powder.build_factor for layer in layers.layers])
    mesh = _mesh_build(
        room,
        green,
        contour=contour,
        ground=ground_of_build(case, layers),
        partner=partner,
        swollen=float(factors.max()),
    )
    grown = contour.moved(green.vertices_mm) if len(partner) == len(contour.vertices_mm) else contour
    density = packed_densities(mesh, grown, layers, swollen=factors)
    end = end_density(layers)
    done = fire(mesh, green_density=density, end_density=end, progress=progress)
    carrier = carrier_of(mesh, green.vertices_mm)
    shrink = film_thickness_ratio(float(np.mean(density)), end) - 1
    moved = green.vertices_mm + carrier.displaced(done.displacement_mm, film_growth=shrink)
    reached = room.veneered[partner]
    fired = green.moved(np.where(reached[:, None], moved, green.vertices_mm))
    weights = np.clip(carrier.weights, 0.0, 1.0)
    volume = float(done.mass_mm3.sum()) / end
    return Baked(
        fired=fired,
        deviation_mm=signed_distance(wanted, fired.vertices_mm).distance_mm,
        over_contour_mm=signed_distance(contour, fired.vertices_mm).distance_mm,
        counted=reached & (room.margin_mm[partner] > RIM_MM),
        porosity=np.einsum("pa,pa->p", weights, done.porosity[carrier.corners]),
        tension=np.einsum("pa,pa->p", weights, done.tension[carrier.corners]),
        nodes=len(mesh.nodes_mm),
        volume_mm3=mesh.volume_mm3,
        fired_volume_mm3=volume,
    )


def _partners(contour: Surface, green: Surface) -> NDArray[np.int64]:
    """(g,) the contour's vertex that each vertex of the build answers to."""
    if len(green.vertices_mm) == len(contour.vertices_mm):
        return np.arange(len(green.vertices_mm))
    _, near = cKDTree(contour.vertices_mm).query(green.vertices_mm)
    return np.asarray(near, dtype=np.int64)


def _mesh_build(
    room: Room,
    green: Surface,
    *,
    contour: Surface,
    ground: Surface,
    partner: NDArray[np.int64],
    swollen: float,
) -> VeneerMesh:
    faces = np.asarray(room.veneered[partner][green.faces].all(axis=1))
    if not faces.any():
        raise BadMesh(
            "the green build lies nowhere over the core; check that it is in the case's coordinates"
        )
    part = green if faces.all() else sub_surface(green, faces)[0]
    away = nearest(ground, part.vertices_mm).distance_mm
    if float(np.median(away)) > 6.0:
        raise BadMesh(
            f"the green build lies {np.median(away):.1f} mm from the core; check that it is in the case's "
            "coordinates and unit"
        )
    off = float(np.percentile(nearest(contour, part.vertices_mm).distance_mm, 90))
    if off > _MOST_OFF_MM:
        raise BadMesh(
            f"the green build lies up to {off:.1f} mm off the wanted contour, more than any overbuild; check "
            "that it was saved unmoved in the case's coordinates"
        )
    return mesh_veneer(green, ground, step_mm=STEP_MM, veneered_contour=part, least_mm=LEAST_MM * swollen)
