"""The colour of the whole crown: at every vertex of the contour, from the layers that lie there."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.colour.difference import PERCEPTIBLE_DELTA_E00
from firstbake.colour.doubt import WEAK_FREE_DEPTH, doubts_at
from firstbake.colour.edge import look_back, through_each
from firstbake.colour.ground import MOUTH_REFLECTANCE, free_ground, ground_of
from firstbake.colour.hiding import coat_of, least_hiding_at, stump_differences
from firstbake.colour.observer import srgb_from_lab
from firstbake.colour.paths import Paths, depths_at, labs_at
from firstbake.layering import Layers
from firstbake.room import Room
from firstbake.teeth import Frame, zone_of

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Vertices = NDArray[np.int64]

PREVIEW_WORDS = "preview without shading, gloss or texture"

# A vertex is looked at straight from front or back when its normal leans less than 60 degrees from there
# (chosen here, as for the zones); from the flanks there is always a core behind.
_FACING = 0.5


@dataclass(frozen=True, eq=False)
class ColourMap:
    """Colour at each of the n vertices of the contour; NaN or False where there is no porcelain.

    lab, srgb         : (n, 3) CIELAB, D65, 2 degrees; screen colour 0 to 1, a preview without shading
    doubt_delta_e00   : (n,) one standard deviation of the prediction, CIEDE2000
    free              : (n,) no core behind: the layers stand against the open mouth
    weak              : (n,) thin or clear over a free back, where the sum is known to be weak
    masking_delta_e00 : (n,) CIEDE2000 between the plan over this stump and over an ordinary one
    least_hiding_mm   : (n,) least of the coat `coat` that brings this below the limit of perception in the
                        room there; 0 where nothing is needed, NaN where the room does not allow it
    coat              : name of the most hiding liner, opaque or opaque dentine of the case, "" without any
    notes             : what was left out or assumed, in words
    """

    lab: Floats
    srgb: Floats
    doubt_delta_e00: Floats
    free: Mask
    weak: Mask
    masking_delta_e00: Floats
    least_hiding_mm: Floats
    coat: str
    notes: tuple[str, ...]


def colour_map(
    case: Case,
    frame: Frame,
    room: Room,
    *,
    layers: Layers,
    mouth_reflectance: float = MOUTH_REFLECTANCE,
) -> ColourMap:
    """Colour, doubt and stump at every vertex of the contour.

    mouth_reflectance, and the geometry : as in predict_zones()
    method : over the core the layers stand as thick as they are at the vertex. On a front tooth a vertex of
             body or incisal zone that faces front or back and has no core straight behind it is a free edge,
             with the layers met on the way through
    raises : BadCard when a card's optics do not reach 400 to 700 nm
    Left out: as in predict_zones(), above all light that spreads sideways from core to free edge.
    """
    count, geometry = len(case.contour.surface.vertices_mm), case.target.geometry
    free = _free(case, frame, room)
    lab, doubt = np.full((count, 3), np.nan), np.full(count, np.nan)
    weak = np.zeros(count, dtype=np.bool_)
    for at, paths in _paths(
        case, frame, room, layers=layers, free=free, geometry=geometry, mouth=mouth_reflectance
    ):
        open_back = bool(free[at[0]])
        lab[at] = labs_at(paths)
        doubt[at] = doubts_at(paths, free=open_back, size_doubt_mm=case.size_doubt_mm)
        weak[at] = open_back & (depths_at(paths) < WEAK_FREE_DEPTH)
    masking, least = _stump_shows(case, room, layers=layers, free=free, geometry=geometry)
    coat = coat_of(case)
    return ColourMap(
        lab=lab,
        srgb=srgb_from_lab(lab),
        doubt_delta_e00=doubt,
        free=free,
        weak=weak,
        masking_delta_e00=masking,
        least_hiding_mm=least,
        coat="" if coat is None else coat.name,
        notes=tuple(_notes(case, room, masking=masking, least=least)),
    )


def _free(case: Case, frame: Frame, room: Room) -> Mask:
    """(n,) True where there is no core behind."""
    free = np.zeros(len(room.veneered), dtype=np.bool_)
    if not frame.tooth.is_front:
        return free
    surface = case.contour.surface
    lean = np.abs(surface.vertex_normals @ frame.axes[1])
    members = np.flatnonzero(room.veneered & (zone_of(frame, surface.vertices_mm) > 0) & (lean > _FACING))
    if len(members):
        free[members] = look_back(case, frame, members)
    return free


def _paths(
    case: Case, frame: Frame, room: Room, *, layers: Layers, free: Mask, geometry: str, mouth: float
) -> Iterator[tuple[Vertices, Paths]]:
    """Vertices and what light meets there: first over the core, then at the free edge."""
    over_core = np.flatnonzero(room.veneered & ~free)
    if len(over_core):
        yield over_core, _over_core(case, layers, over_core, geometry)
    edge = np.flatnonzero(free)
    if len(edge):
        powders, thickness = through_each(case, frame, layers, vertices=edge)
        yield edge, Paths(tuple(p.optics for p in powders), thickness, free_ground(mouth), geometry)


def _over_core(case: Case, layers: Layers, vertices: Vertices, geometry: str) -> Paths:
    thickness = np.stack([np.maximum(part.thickness_mm[vertices], 0.0) for part in layers.layers], axis=1)
    optics = tuple(part.powder.optics for part in layers.layers)
    return Paths(optics, thickness, ground_of(case, geometry=geometry), geometry)


def _stump_shows(
    case: Case, room: Room, *, layers: Layers, free: Mask, geometry: str
) -> tuple[Floats, Floats]:
    """Masking difference and least hiding coat at each vertex."""
    count = len(room.veneered)
    masking, least = np.full(count, np.nan), np.full(count, np.nan)
    masking[free], least[free] = 0.0, 0.0
    at = np.flatnonzero(room.veneered & ~free)
    if len(at):
        paths = _over_core(case, layers, at, geometry)
        masking[at] = stump_differences(case, paths)
        least[at] = 0.0
        shows = masking[at] >= PERCEPTIBLE_DELTA_E00
        if shows.any():
            powders = tuple(part.powder for part in layers.layers)
            least[at[shows]] = least_hiding_at(case, powders, paths.thickness_mm[shows], geometry=geometry)
    return masking, least


def _notes(case: Case, room: Room, *, masking: Floats, least: Floats) -> Iterator[str]:
    """What to know about the map. The band at the margin, where porcelain runs out, is not told of."""
    yield f"Colours on the crown are a {PREVIEW_WORDS}; light that spreads sideways is left out."
    if case.target.stump is None and case.core_material.optics is not None:
        yield "No stump colour was given, so whether the stump shows is not known."
    shows = (np.nan_to_num(masking) >= PERCEPTIBLE_DELTA_E00) & (room.margin_mm > case.limits.margin_band_mm)
    if not shows.any():
        return
    area = case.contour.surface.vertex_areas_mm2
    coat = coat_of(case)
    told = f"The stump shows over {area[shows].sum():.0f} mm²"
    if coat is None:
        yield f"{told}; the case has no liner, opaque or opaque dentine to hide it."
        return
    stays = shows & np.isnan(least)
    if stays.any():
        yield f"{told}; over {area[stays].sum():.0f} mm² {coat.name} cannot hide it in the room there."
    if (shows & ~stays).any():
        yield f"{told}; up to {np.nanmax(least[shows]):.2f} mm of {coat.name} hides it where there is room."
