"""Which part of contour and core faces the porcelain: no root, no inside of a crown or coping."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadCase
from firstbake.mesh import Surface, cast_rays, sub_surface, vertex_components
from firstbake.room.sides import Approach, Approaches, distance_to_loop, outward, whole_faces
from firstbake.teeth import Frame

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# All shares and distances below are chosen here and tried on the open tooth meshes; no source.
_FACING_ITSELF = 0.12
"""Share of a closed surface's area that sees the surface itself when it has an inside."""
_PATCH_SHARE = 0.05
"""A patch smaller than this share of the area is not taken for an inside."""
_SPECK_MM2 = 1.0
_PAST_MARGIN_MM = 2.5
"""An open surface that reaches this far past the other's margin goes on where there is no porcelain."""
_COINCIDENT_MM = 0.02
_ASIDE = float(np.cos(np.radians(20)))
_STEP_MM = 1e-3
_NOTES = (
    "the core is closed and hollow; only its outside counts",
    "the contour has an inside; only its outside counts as porcelain",
    "the contour goes on past the margin of the core; that part is not porcelain",
    "the core goes on past the margin of the contour; that part stays bare",
)


@dataclass(frozen=True, eq=False)
class Shells:
    """The two surfaces that hold the porcelain.

    veneered  : (n,) True for the contour's vertices that porcelain reaches
    contour   : the veneered part of the contour       core : the part of the core under it
    core_vertices : (k,) what number each vertex of `core` has in the case's core
    margin    : surface and loop of the margin, or None when both are closed
    whole     : True when porcelain reaches all of both surfaces
    notes     : what was left out, in words
    """

    veneered: Flags
    contour: Surface
    core: Surface
    core_vertices: NDArray[np.int32]
    margin: tuple[Surface, NDArray[np.int32]] | None
    whole: bool
    notes: tuple[str, ...]


def find_shells(contour: Surface, core: Surface, frame: Frame, *, known: Approaches | None = None) -> Shells:
    """Tell porcelain from what is not: root below the margin, inside of a coping, inside of a crown.

    known  : distances between the two, to be filled for later use
    raises : BadCase when no part of the contour lies over the core
    """
    known = Approaches() if known is None else known
    core_sees, contour_sees = _sees_itself(core), _sees_itself(contour)
    core_keep = _outer(core, _unseen(contour, contour_sees), core_sees, frame=frame, known=known)
    outer_core, core_numbers = _part(core, core_keep, "core")
    keep = _outer(contour, outer_core, contour_sees, frame=frame, known=known)
    keep = _without_buried_rim(contour, keep, known.of(contour, outer_core))
    above = _above_margin(contour, keep, outer_core, frame=frame, side=1, known=known)
    above = above & ~_coincident_root(contour, core, frame, known=known)
    veneer, _ = _part(contour, above, "contour")
    whole = np.ones(len(core_numbers), dtype=np.bool_)
    core_above = _above_margin(outer_core, whole, veneer, frame=frame, side=-1, known=known)
    covered, covered_numbers = _part(outer_core, core_above, "core")
    cut = not core_keep.all()
    hollow = cut and bool(core_sees.any())
    bare = not core_above.all() or (cut and not hollow)
    left_out = (hollow, not keep.all(), above.sum() < keep.sum(), bare)
    return Shells(
        veneered=above,
        contour=veneer,
        core=covered,
        core_vertices=core_numbers[covered_numbers],
        margin=next(((s, s.loops[0]) for s in (outer_core, veneer) if s.loops), None),
        whole=not any(left_out) or _both_solid(contour, core, keep, core_keep),
        notes=tuple(note for note, said in zip(_NOTES, left_out, strict=True) if said),
    )


def _both_solid(contour: Surface, core: Surface, keep: Flags, core_keep: Flags) -> bool:
    """Two closed solids without an inside: the porcelain is one less the other, whatever lies below."""
    return bool(contour.is_closed and core.is_closed and keep.all() and core_keep.all())


def _coincident_root(contour: Surface, core: Surface, frame: Frame, *, known: Approaches) -> Flags:
    """(n,) True on the root that two whole teeth share: the patch at the root end where they coincide."""
    none = np.zeros(len(contour.vertices_mm), dtype=np.bool_)
    if not (contour.is_closed and core.is_closed):
        return none
    touching = np.abs(known.of(contour, core).distance_mm) < _COINCIDENT_MM
    patches = vertex_components(contour, touching)
    number = patches[np.argmin(contour.vertices_mm @ frame.axes[2])]
    patch = patches == number
    if number < 0 or contour.vertex_areas_mm2[patch].sum() < _PATCH_SHARE * contour.area_mm2:
        return none
    return np.asarray(patch)


def _part(surface: Surface, keep: Flags, name: str) -> tuple[Surface, NDArray[np.int32]]:
    """The faces whose three vertices all stay, or the surface itself when all do."""
    faces = whole_faces(surface, keep)
    if faces.all():
        return surface, np.arange(len(surface.vertices_mm), dtype=np.int32)
    if not faces.any():
        raise BadCase(
            f"no part of the {name} lies where the porcelain goes; check that core and contour "
            "are in the same coordinates and belong to the same tooth"
        )
    return sub_surface(surface, faces)


def _sees_itself(surface: Surface) -> Flags:
    """(n,) True on the walls of a closed hollow surface that look at each other; none when it is solid."""
    sees = np.zeros(len(surface.vertices_mm), dtype=np.bool_)
    if not surface.is_closed:
        return sees
    normals = surface.vertex_normals
    usable = np.linalg.norm(normals, axis=1) > 0.5
    origins = surface.vertices_mm[usable] + _STEP_MM * normals[usable]
    _, face = cast_rays(surface, origins, normals[usable])
    facing = np.einsum("ij,ij->i", surface.face_normals[face], normals[usable]) < 0
    sees[usable] = (face >= 0) & facing
    if surface.vertex_areas_mm2[sees].sum() < _FACING_ITSELF * surface.area_mm2:
        sees[:] = False
    return sees


def _unseen(surface: Surface, sees: Flags) -> Surface:
    """The largest piece of a surface without the walls that look at each other."""
    keep = whole_faces(surface, vertex_components(surface, ~sees) == 0)
    return sub_surface(surface, keep)[0] if sees.any() and keep.any() else surface


def _outer(surface: Surface, other: Surface, sees: Flags, *, frame: Frame, known: Approaches) -> Flags:
    """(n,) False on the inside of a closed surface: walls that look at each other (`sees`), and what faces
    the other way than `other` does there. Two solids without such walls stay whole.
    """
    count = len(surface.vertices_mm)
    if not surface.is_closed or (other.is_closed and not sees.any()):
        return np.ones(count, dtype=np.bool_)
    found = known.of(surface, other)
    along = np.einsum("ij,ij->i", surface.vertex_normals, outward(found, surface.vertices_mm))
    patches = vertex_components(surface, (along < -0.2) | (sees & (along < 0.5)))
    areas = surface.vertex_areas_mm2
    inside = np.zeros(count, dtype=np.bool_)
    for number in range(int(patches.max()) + 1):
        patch = patches == number
        area = areas[patch].sum()
        if area < _PATCH_SHARE * areas.sum():
            break
        if np.average(along[patch], weights=areas[patch]) < -0.4:
            inside |= patch
    return _crown_patch(surface, ~inside, frame) if inside.any() else ~inside


def _without_buried_rim(contour: Surface, keep: Flags, found: Approach) -> Flags:
    """(n,) `keep` without the rim between inside and outside where it lies in the wall of the core."""
    buried = keep & (found.distance_mm < -_COINCIDENT_MM)
    patches = vertex_components(contour, ~keep | buried)
    touched = np.unique(patches[~keep])
    return np.asarray(keep & ~(buried & np.isin(patches, touched)))


def _crown_patch(surface: Surface, mask: Flags, frame: Frame) -> Flags:
    """The patch of the mask that lies nearest to the biting end, with the small holes in it filled."""
    patches = vertex_components(surface, mask)
    areas, weights = surface.vertex_areas_mm2, np.where(mask, surface.vertex_areas_mm2, 0.0)
    sizes = np.bincount(patches[mask], weights=areas[mask], minlength=1)
    heights = np.bincount(patches[mask], weights=(weights * (surface.vertices_mm @ frame.axes[2]))[mask])
    large = np.flatnonzero(sizes >= _PATCH_SHARE * surface.area_mm2)
    if len(large) == 0:
        return mask
    crown = np.asarray(patches == large[np.argmax(heights[large] / sizes[large])])
    rest = vertex_components(surface, ~crown)
    holes = np.bincount(rest[~crown], weights=areas[~crown], minlength=1)
    small = np.append(holes < _PATCH_SHARE * surface.area_mm2, False)
    small[0] = False
    return np.asarray(crown | small[rest])


def _above_margin(
    surface: Surface, keep: Flags, other: Surface, *, frame: Frame, side: int, known: Approaches
) -> Flags:
    """(n,) `keep` without the vertices past the margin of the open surface `other`; side as below."""
    if not other.loops:
        return keep
    found = known.of(surface, other)
    past = _past_margin(found, surface.vertices_mm, frame=frame, side=side) & keep
    past &= ~_specks(surface, past)
    if not past.any():
        return keep
    rim = surface.is_closed or not keep.all()
    reach = distance_to_loop(other, other.loops[0], surface.vertices_mm[past]).max()
    if not rim and reach < _PAST_MARGIN_MM:
        return keep
    return _crown_patch(surface, keep & ~past, frame)


def _past_margin(found: Approach, points_mm: Floats, *, frame: Frame, side: int) -> Flags:
    """(p,) True where the nearest place is the margin itself and the point lies beyond it.

    Beyond means towards the root, and either more than 20 degrees from the surface's normal there or
    more than 1 mm away; or on the other side of the surface than the porcelain.
    side : +1 where the porcelain lies outside the surface (a core), -1 where inside (a contour)
    """
    away = points_mm - found.foot_mm
    length = np.linalg.norm(away, axis=1)
    unit = away / np.maximum(length, 1e-9)[:, None]
    along = side * np.einsum("ij,ij->i", unit, found.foot_normal)
    rootward = -(unit @ frame.axes[2])
    aside = (along < _ASIDE) | (length > 1.0)
    beyond = (aside & (rootward > 0.2)) | (along < -0.3)
    return np.asarray(found.on_loop & beyond & (length > _STEP_MM))


def _specks(surface: Surface, mask: Flags) -> Flags:
    """(n,) True on patches of the mask that are smaller than 1 mm²."""
    patches = vertex_components(surface, mask)
    areas = np.bincount(patches[mask], weights=surface.vertex_areas_mm2[mask], minlength=1)
    small = np.append(areas < _SPECK_MM2, False)
    return np.asarray(small[patches] & mask)
