"""The green shape by finite elements: the mesh lies in the wanted shape, is fired backward and corrected."""

from collections.abc import Callable

import numpy as np

from firstbake.case import Case
from firstbake.fem import (
    INSIDE_UM,
    Overbuilt,
    VeneerMesh,
    carrier_of,
    coarser_build,
    mesh_veneer,
    overbuild,
    overbuilt_in_sweeps,
    with_error_estimate,
)
from firstbake.green.allowance import Extra
from firstbake.green.callipers import density_doubt
from firstbake.green.column_build import folded_faces, powder_volumes
from firstbake.green.cutback import dentine_row
from firstbake.green.green import Green
from firstbake.green.growth import swept_volume_mm3
from firstbake.green.packed import end_density, ground_of_build, packed_densities
from firstbake.layering import Layers
from firstbake.mesh import Floats, Surface, sub_surface
from firstbake.room import Room

MODEL = "sintering, finite elements"
STEP_MM = 0.6  # lattice step, mm; half of it at thin free ends
TOLERANCE_MM = 0.006
Progress = Callable[[str, float], bool]


def from_furnace(case: Case, extra: Extra) -> Surface:
    """The contour wanted from the furnace: the wanted contour and the fired allowances on it."""
    contour = case.contour.surface
    return contour.moved(contour.vertices_mm + extra.field_mm[:, None] * contour.vertex_normals)


def veneered_part(surface: Surface, room: Room) -> Surface:
    """The faces of a contour (vertex for vertex the case's) that porcelain reaches with all corners."""
    faces = np.asarray(room.veneered[surface.faces].all(axis=1))
    return surface if faces.all() else sub_surface(surface, faces)[0]


def mesh_room(case: Case, room: Room, outer: Surface, *, layers: Layers) -> VeneerMesh:
    """The porcelain of the main bake, under an outer surface (vertex for vertex the case's contour)."""
    ground = ground_of_build(case, layers)
    return mesh_veneer(outer, ground, step_mm=STEP_MM, veneered_contour=veneered_part(outer, room))


def sintered_green(
    case: Case,
    room: Room,
    *,
    layers: Layers,
    extra: Extra,
    progress: Progress | None = None,
) -> Green:
    """The green shape that fires to the wanted contour plus allowances.

    extra    : fired allowances over the contour
    progress : told (what is done, share done); answers False to stop
    raises   : BadMesh when the room cannot be meshed, BadSum when no green shape is found or it is stopped
    """
    contour, wanted = case.contour.surface, from_furnace(case, extra)
    mesh = mesh_room(case, room, wanted, layers=layers)
    end = end_density(layers)

    def density_of(meshed: VeneerMesh) -> Floats:
        return packed_densities(meshed, wanted, layers)

    built = overbuild(
        mesh, green_density=density_of(mesh), end_density=end, tolerance_mm=TOLERANCE_MM, progress=progress
    )
    coarse = coarser_build(mesh, density_of=density_of, end_density=end)
    built = with_error_estimate(built, coarse)
    carrier = carrier_of(mesh, wanted.vertices_mm)
    places = np.where(
        room.veneered[:, None], built.green_of(wanted.vertices_mm, carrier=carrier), contour.vertices_mm
    )
    shape, cut = contour.moved(places), layers.cut_back
    grown = swept_volume_mm3(contour, shape.vertices_mm - contour.vertices_mm)
    volumes = powder_volumes(layers, extra)
    asked = sum(volumes.values()) - sum(layer.volume_mm3 for layer in layers.layers)
    return Green(
        contour=shape,
        overbuild_mm=np.linalg.norm(shape.vertices_mm - contour.vertices_mm, axis=1),
        dentine_full=None if cut is None else _all_dentine(mesh, layers, wanted, shape=shape, room=room),
        dentine_cut=None if cut is None else cut.moved(built.green_of(cut.vertices_mm)),
        volume_mm3=sum(volumes.values()),
        powder_volume_mm3=volumes,
        free_share=None,
        mass_closure=asked / grown,
        model=MODEL,
        folded_faces=folded_faces(contour, shape),
        opened=None,
        residual_um=built.residual_um,
        error_estimate_um=built.error_estimate_um,
        sweeps=built.sweeps,
        nodes=len(mesh.nodes_mm),
        tension=_at_contour(built, room, carrier.corners, carrier.weights),
        edge_per_sd_mm=_edge_per_sd(coarse.wanted, layers, wanted),
        notes=_unsettled(built),
        mesh=mesh,
    )


def _unsettled(built: Overbuilt) -> tuple[str, ...]:
    """A sentence where the sweeps brought the contour home but not the porcelain inside."""
    if built.inside_um <= INSIDE_UM:
        return ()
    return (
        f"Inside the porcelain the sums have settled to {built.inside_um / 1e3:.2f} mm only, so the green "
        "cut-back may be off by as much",
    )


def _at_contour(built: Overbuilt, room: Room, corners: np.ndarray, weights: Floats) -> Floats | None:
    """(n,) mean tension carried to the contour; NaN where there is no porcelain."""
    if built.fired is None:
        return None
    values = np.einsum("pa,pa->p", np.clip(weights, 0, 1), built.fired.tension[corners])
    return np.where(room.veneered, values, np.nan)


def _all_dentine(mesh: VeneerMesh, layers: Layers, wanted: Surface, *, shape: Surface, room: Room) -> Surface:
    """Green dentine built to full contour: the quick answer with dentine's packing everywhere outside it."""
    row = dentine_row(layers)
    values = np.array([layer.powder.green_relative_density.value for layer in layers.layers])
    if np.ptp(values[row:]) < 1e-12:
        return shape
    values[row:] = values[row]
    end = layers.layers[row].powder.fired_relative_density.value
    density = packed_densities(mesh, wanted, layers, values=values)
    quick = next(overbuilt_in_sweeps(mesh, green_density=density, end_density=end))
    places = quick.green_of(wanted.vertices_mm)
    return shape.moved(np.where(room.veneered[:, None], places, shape.vertices_mm))


def _edge_per_sd(mesh: VeneerMesh, layers: Layers, wanted: Surface) -> float:
    """How far one standard deviation of packing moves the contour point farthest from the core, mm.

    Half the difference of two quick answers on a coarse mesh: a difference needs no fine one.
    """
    end = end_density(layers)
    values = np.array([layer.powder.green_relative_density.value for layer in layers.layers])
    loose = np.array([not layer.powder.fired_before_the_build for layer in layers.layers])
    sds = np.array([density_doubt(layer.powder) for layer in layers.layers]) * loose
    thickness = sum(np.maximum(layer.thickness_mm, 0.0) for layer in layers.layers)
    tip = wanted.vertices_mm[[int(np.argmax(thickness))]]
    ends = []
    for shift in (-1.0, 1.0):
        density = packed_densities(mesh, wanted, layers, values=values + shift * sds)
        quick = next(overbuilt_in_sweeps(mesh, green_density=density, end_density=end))
        ends.append(quick.green_of(tip)[0])
    return float(np.linalg.norm(ends[0] - ends[1]) / 2)
