"""Regions: connected patches of a surface where something is short, with the place in words."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from firstbake.mesh import Surface, edges_of, vertex_components
from firstbake.room.room import Region
from firstbake.teeth import Frame, place_in_words

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LEAST_AREA_MM2 = 0.3
"""A smaller patch is a speck and not reported (chosen here: half a millimetre across)."""
LEAST_DEPTH_MM = 0.01
"""Less than this is within what can be measured and ground at the bench (chosen here)."""
_NOT_SHORT_MM = -1e-9
JOIN_MM = 0.4
"""Patches nearer to each other than this are one place at the bench (chosen here)."""


@dataclass(frozen=True, eq=False)
class Spot:
    """One patch before its choices are written: what a function of choices may look at.

    depth_mm : by how much the worst vertex misses the limit       value_mm : the value there
    area_mm2, at_mm, normal : of the patch and its worst vertex    where : place in words
    """

    depth_mm: float
    value_mm: float
    area_mm2: float
    at_mm: Floats
    normal: Floats
    where: str


Choices = Callable[[Spot], tuple[str, ...]]


def regions_of(
    surface: Surface,
    missing_mm: Floats,
    *,
    kind: str,
    frame: Frame,
    value_mm: Floats,
    choices: Choices = lambda spot: (),
    within: Flags | None = None,
    least_area_mm2: float = LEAST_AREA_MM2,
    join_mm: float = JOIN_MM,
) -> tuple[Region, ...]:
    """Patches where something is missing, deepest first; none less than 0.01 mm deep.

    missing_mm : (n,) by how much each vertex misses its limit, mm; greater than 0 is short; NaN is ignored
    value_mm   : (n,) the value to report, mm (the thickness)
    choices    : writes what can be done about one Spot
    within     : (n,) bool, vertices that may be part of a patch; all when None
    The area of a patch is that of {missing > 0}, cut across the triangles by linear interpolation.
    """
    allowed = np.ones(len(missing_mm), dtype=np.bool_) if within is None else within
    short = np.where(allowed & np.isfinite(missing_mm), missing_mm, _NOT_SHORT_MM)
    patches = _joined_patches(surface, short > 0, join_mm)
    areas = _patch_areas(surface, short, patches)
    found = []
    for number in np.flatnonzero(areas >= least_area_mm2):
        vertices = np.flatnonzero(patches == number).astype(np.int32)
        worst = int(vertices[np.argmax(short[vertices])])
        if short[worst] < LEAST_DEPTH_MM:
            continue
        spot = Spot(
            depth_mm=float(short[worst]),
            value_mm=float(value_mm[worst]),
            area_mm2=float(areas[number]),
            at_mm=surface.vertices_mm[worst].copy(),
            normal=surface.vertex_normals[worst].copy(),
            where=place_in_words(frame, surface.vertices_mm[worst]),
        )
        found.append(_region(kind, spot, vertices, choices))
    return tuple(sorted(found, key=lambda region: -region.depth_mm))


def _region(kind: str, spot: Spot, vertices: NDArray[np.int32], choices: Choices) -> Region:
    return Region(
        kind=kind,
        where=spot.where,
        area_mm2=spot.area_mm2,
        worst_mm=spot.value_mm,
        depth_mm=spot.depth_mm,
        at_mm=spot.at_mm,
        vertices=vertices,
        choices=choices(spot),
    )


def _joined_patches(surface: Surface, short: Flags, join_mm: float) -> NDArray[np.int32]:
    """(n,) patch number, -1 outside; patches whose rims come nearer than join_mm are one."""
    patches = vertex_components(surface, short)
    count = int(patches.max(initial=-1)) + 1
    if count < 2:
        return patches
    edges = edges_of(surface.faces)
    crossing = short[edges[:, 0]] != short[edges[:, 1]]
    rim = np.unique(edges[crossing])
    rim = rim[short[rim]]
    pairs = cKDTree(surface.vertices_mm[rim]).query_pairs(join_mm, output_type="ndarray")
    a, b = rim[pairs[:, 0]], rim[pairs[:, 1]]
    same_side = np.einsum("ij,ij->i", surface.vertex_normals[a], surface.vertex_normals[b]) > 0.5
    links = (patches[a[same_side]], patches[b[same_side]])
    graph = coo_array((np.ones(len(links[0]), dtype=np.int8), links), shape=(count, count))
    _, joined = connected_components(graph, directed=False)
    return np.append(joined.astype(np.int32), np.int32(-1))[patches]


def _patch_areas(surface: Surface, short: Floats, patches: NDArray[np.int32]) -> Floats:
    """(patches,) area of {short > 0} of each patch, mm²."""
    corner_patches = patches[surface.faces]
    owner = corner_patches.max(axis=1)
    part = below_zero_share(-short[surface.faces]) * surface.face_areas_mm2
    held = owner >= 0
    count = int(patches.max(initial=-1)) + 1
    return np.bincount(owner[held], weights=part[held], minlength=count).astype(np.float64)


def below_zero_share(corners: Floats) -> Floats:
    """(m,) share of each triangle where a linear field is less than 0, unit 1; exact for linear fields.

    corners : (m, 3) values at the corners. With lo <= mi <= hi sorted: lo²/((lo-mi)(lo-hi)) when one
    corner is below 0, 1 - hi²/((hi-lo)(hi-mi)) when two are (similar triangles).
    """
    lo, mi, hi = np.sort(corners, axis=1).T
    share = np.where(hi <= 0, 1.0, 0.0)
    share[(lo == 0) & (hi == 0)] = 0.0
    one = (lo < 0) & (mi >= 0) & (hi > 0)
    two = (mi < 0) & (hi > 0)
    share[one] = lo[one] / (lo[one] - mi[one]) * (lo[one] / (lo[one] - hi[one]))
    share[two] = 1 - hi[two] / (hi[two] - lo[two]) * (hi[two] / (hi[two] - mi[two]))
    return share
