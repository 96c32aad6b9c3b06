"""mesh_veneer: tetrahedra that fill the room between core and wanted contour."""

from dataclasses import dataclass, replace

import numpy as np

from firstbake.errors import BadMesh
from firstbake.fem.body import Body
from firstbake.fem.clip import Fielded, clip
from firstbake.fem.depth import Depth, Fields, Sizes, outer_side, sizes_from
from firstbake.fem.lattice import lattice
from firstbake.fem.margin import LEAST_MM, brake_per_mm2, end_distance_mm
from firstbake.fem.refine import refine
from firstbake.fem.report import MeshReport, report_of
from firstbake.fem.tetrahedra import Flags, Index, compacted, edge_table, outer_faces, parts_of
from firstbake.fem.tidy import evened, moved_where_sound, without_slivers
from firstbake.mesh import Floats, Surface

_GRIP = (
    0.05  # of the step: nodes of the margin's end face nearer the core than this are bonded (chosen by trial)
)
_PROJECTION = 0.35  # of the step: farther moves onto a surface are not made


@dataclass(frozen=True, eq=False)
class VeneerMesh(Body):
    """A meshed veneer (see Body for nodes, tetrahedra and bond).

    on_contour : (n,) nodes on the wanted contour
    contour, core : the surfaces meshed between, the contour without its inner side
    step_mm    : edge of the lattice it was made from
    least_mm   : porcelain thinner than this is not in the mesh
    end_mm     : (n,) distance to the end of the mesh at the margin, mm (infinite where it has none)
    report     : how good the mesh is
    """

    on_contour: Flags | None = None
    contour: Surface | None = None
    core: Surface | None = None
    step_mm: float = 0.0
    least_mm: float = LEAST_MM
    end_mm: Floats | None = None
    report: MeshReport | None = None


def mesh_veneer(
    contour: Surface,
    core: Surface,
    *,
    step_mm: float = 0.55,
    least_mm: float = LEAST_MM,
    finest_mm: float | None = None,
    veneered_contour: Surface | None = None,
    volume_mm3: float | None = None,
) -> VeneerMesh:
    """Mesh the room between core and contour, in the wanted (fired) shape.

    step_mm   : edge of the lattice, mm
    finest_mm : smallest size at thin free ends, half of step_mm when None; step_mm for an even mesh
    veneered_contour : the part of the contour that porcelain reaches, when the contour is more than that
    volume_mm3 : volume of the room measured in another way, for the report
    raises    : BadMesh, with the reason, when there is no room, or the surfaces have holes too large to mesh
    """
    outer = veneered_contour if veneered_contour is not None else outer_side(contour, core)
    depth = Depth(outer, core)
    finest = 0.5 * step_mm if finest_mm is None else finest_mm
    sizes = sizes_from(depth, step_mm=step_mm, finest_mm=finest)
    clipped = _clipped(depth, sizes, least_mm=least_mm)
    mesh = _tidied(depth, clipped, step_mm=step_mm, least_mm=least_mm)
    return replace(mesh, report=report_of(mesh, depth, volume_mm3=volume_mm3))


def _clipped(depth: Depth, sizes: Sizes, *, least_mm: float) -> Fielded:
    points, tets, fields = _laid(depth, sizes)
    mesh = Fielded(
        points,
        tets,
        {
            "thick": fields.outside_core_mm + fields.in_contour_mm - least_mm,
            "core": fields.outside_core_mm,
            "contour": fields.in_contour_mm,
        },
    )
    for name in ("thick", "core", "contour"):
        if len(mesh.tets):
            bonded = mesh.fields["core"] == 0 if name == "contour" else None
            mesh = clip(mesh, name, locked=bonded)
    if len(mesh.tets) == 0:
        raise BadMesh(
            f"there is no room of {least_mm:.2f} mm or more between core and contour; check that both are in "
            f"place "
            "and in the same unit"
        )
    return mesh


def _laid(depth: Depth, sizes: Sizes) -> tuple[Floats, Index, Fields]:
    """Lattice near the room, refined, with its fields."""
    step = sizes.step_mm
    low, high = depth.contour.bounds_mm
    low = low - 1.13 * step  # no whole step, so that flat faces do not fall on the lattice
    coarse = 2 * step
    counts = np.ceil((high + step - low) / coarse).astype(np.int64) + 1
    axes = np.meshgrid(*(np.arange(c) + 0.5 for c in counts), indexing="ij")
    middles = low + coarse * np.column_stack([a.ravel() for a in axes])
    wanted = depth.at(middles, step_mm=step).near(np.sqrt(3) / 2 * coarse + 0.8 * step).reshape(counts)

    def keep(places: Floats) -> Flags:
        cell = np.clip(((places - low) / coarse).astype(np.int64), 0, counts - 1)
        return np.asarray(wanted[tuple(cell.T)])

    points, tets = lattice(low, high + step, step_mm=step, keep=keep)
    fields = depth.at(points, step_mm=step)
    tets = tets[_reached(fields, tets)]
    if len(tets) == 0 or sizes.tree is None:
        return points, tets, depth.capped(points, fields, edge_table(tets)[0]) if len(tets) else fields
    known = len(points)
    points, tets = refine(points, tets, size_mm_of=sizes.at)
    more = depth.at(points[known:], step_mm=step)
    fields = Fields(
        np.concatenate([fields.outside_core_mm, more.outside_core_mm]),
        np.concatenate([fields.in_contour_mm, more.in_contour_mm]),
    )
    tets = tets[_reached(fields, tets)]
    return points, tets, depth.capped(points, fields, edge_table(tets)[0])


def _reached(fields: Fields, tets: Index) -> Flags:
    """Tetrahedra with a corner outside the core and one inside the contour."""
    return np.asarray(
        (fields.outside_core_mm[tets] > 0).any(axis=1) & (fields.in_contour_mm[tets] > 0).any(axis=1)
    )


def _tidied(depth: Depth, mesh: Fielded, *, step_mm: float, least_mm: float) -> VeneerMesh:
    points, tets, used = compacted(mesh.points_mm, mesh.tets)
    bonded, on_contour = (mesh.fields[name][used] == 0 for name in ("core", "contour"))
    on_contour &= ~bonded
    ended = mesh.fields["thick"][used] == 0
    wanted, far = _projected(depth, points, bonded, on_contour, reach_mm=_PROJECTION * step_mm)
    on_contour, bonded_too = on_contour & ~far, bonded & ~far
    points = moved_where_sound(points, tets, wanted, floor=0.1)
    tets = without_slivers(points, tets)
    tets = _main_part(tets, bonded_too, on_contour)
    outer = np.zeros(len(points), dtype=bool)
    outer[outer_faces(tets)[0]] = True
    points = evened(points, tets, outer)
    wanted, _ = _projected(depth, points, bonded_too, on_contour, reach_mm=_PROJECTION * step_mm)
    points = moved_where_sound(points, tets, wanted, floor=0.08)
    bonded_too |= _at_the_core(depth, points, outer & ~bonded_too & ~on_contour, reach_mm=_GRIP * step_mm)
    bonded_too |= _at_the_core(depth, points, outer & ~bonded_too, reach_mm=0.25 * least_mm)
    tets = tets[~bonded_too[tets].all(axis=1)]  # porcelain that cannot move would hold its neighbours' pores
    points, tets, used = compacted(points, tets)
    normals = depth.core.face_normals[depth.to_core.nearest(points).face]
    end_mm = end_distance_mm(points, ended[used])
    return VeneerMesh(
        points,
        tets,
        bonded_too[used],
        normals=normals,
        brake=brake_per_mm2(end_mm, normals),
        on_contour=on_contour[used],
        contour=depth.contour,
        core=depth.core,
        step_mm=step_mm,
        least_mm=least_mm,
        end_mm=end_mm,
    )


def _projected(
    depth: Depth, points_mm: Floats, bonded: Flags, on_contour: Flags, *, reach_mm: float
) -> tuple[Floats, Flags]:
    """(n, 3) places on the true surfaces, and (n,) nodes that lie too far from theirs and stay."""
    wanted = points_mm.copy()
    wanted[bonded] = depth.to_core.nearest(points_mm[bonded]).foot_mm
    wanted[on_contour] = depth.to_contour.nearest(points_mm[on_contour]).foot_mm
    far = np.linalg.norm(wanted - points_mm, axis=1) > reach_mm
    wanted[far] = points_mm[far]
    return wanted, far


def _at_the_core(depth: Depth, points_mm: Floats, asked: Flags, *, reach_mm: float) -> Flags:
    """(n,) those of the asked nodes that lie so near the core that they cannot move without folding."""
    found = np.zeros(len(points_mm), dtype=bool)
    found[asked] = depth.to_core.nearest(points_mm[asked]).distance_mm < reach_mm
    return found


def _main_part(tets: Index, bonded: Flags, on_contour: Flags) -> Index:
    """The part with most contour nodes among those held by the core, and others with a tenth as many."""
    part = parts_of(tets)
    count = part.max() + 1
    touching = np.zeros(count)
    held = np.zeros(count, dtype=bool)
    for corner in range(4):
        touching += np.bincount(part, on_contour[tets[:, corner]], minlength=count)
        held |= np.bincount(part, bonded[tets[:, corner]], minlength=count) >= 3
    touching[~held] = 0
    if touching.max() == 0:
        raise BadMesh(
            "the room between core and contour touches only one of them; check that both are in place"
        )
    return np.asarray(tets[(touching >= 0.1 * touching.max())[part]])
