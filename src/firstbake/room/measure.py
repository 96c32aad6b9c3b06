"""measure_room: all that can be said about the room before a grain of powder is placed."""

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.mesh import volume_between
from firstbake.room.choices import thin_choices, unsupported_choices
from firstbake.room.clearance import clearance_of
from firstbake.room.contacts import contacts_of
from firstbake.room.crossing import refuse_apart, refuse_crossing
from firstbake.room.regions import regions_of
from firstbake.room.room import Region, Room
from firstbake.room.shells import Shells, find_shells
from firstbake.room.sides import Approaches, distance_to_loop, whole_faces
from firstbake.room.thickness import along_normals
from firstbake.teeth import Frame

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


def measure_room(case: Case, frame: Frame) -> Room:
    """Measure the room between core and wanted contour, its contacts and its clearance.

    raises : BadCase when core and contour do not belong together or the core stands out of the contour
             by more than 0.05 mm over more than 0.5 mm² away from the margin
    """
    contour = case.contour.surface
    known = Approaches()
    shells = find_shells(contour, case.core.surface, frame, known=known)
    found = known.of(contour, case.core.surface)
    margin = _margin_distance(shells, contour.vertices_mm)
    away = margin > case.limits.margin_band_mm
    _refuse_misfits(case, frame, shells, known=known, within=shells.veneered & away)
    thin, unsupported = _spots(case, frame, found.distance_mm, within=shells.veneered & away)
    contacts, said = contacts_of(case, frame, shells.veneered)
    return Room(
        thickness_mm=found.distance_mm,
        along_normal_mm=along_normals(contour, case.core.surface, inside=found.distance_mm < 0),
        foot_mm=found.foot_mm,
        margin_mm=margin,
        veneered=shells.veneered,
        volume_mm3=veneer_volume(case, shells),
        thin=thin,
        unsupported=unsupported,
        contacts=contacts,
        clearance=clearance_of(case, frame, shells.veneered),
        notes=(*shells.notes, *said),
    )


def veneer_volume(case: Case, shells: Shells) -> float:
    """Volume of the porcelain, mm³: between the whole surfaces when porcelain reaches all of them,
    else between their veneered parts, with a ruled band between the two margins (mesh.volume_between).
    """
    if shells.whole:
        return volume_between(case.contour.surface, case.core.surface)
    return volume_between(shells.contour, shells.core)


def _margin_distance(shells: Shells, points_mm: Floats) -> Floats:
    if shells.margin is None:
        return np.full(len(points_mm), np.inf)
    surface, loop = shells.margin
    return distance_to_loop(surface, loop, points_mm)


def _refuse_misfits(case: Case, frame: Frame, shells: Shells, *, known: Approaches, within: Flags) -> None:
    """Look for a core that stands out, from the contour's vertices and from the core's own."""
    contour = case.contour.surface
    found, back = known.of(contour, case.core.surface), known.of(shells.core, contour)
    areas = shells.core.vertex_areas_mm2
    outside = float(areas[back.distance_mm > 0.3].sum() / areas.sum())
    refuse_apart(found.distance_mm[shells.veneered], core_outside_share=outside)
    refuse_crossing(contour, -found.distance_mm, frame=frame, within=within)
    inland = _margin_distance(shells, shells.core.vertices_mm) > case.limits.margin_band_mm
    over = inland & ~back.on_loop & whole_faces(contour, shells.veneered)[back.face]
    refuse_crossing(shells.core, back.distance_mm, frame=frame, within=over)


def _spots(
    case: Case, frame: Frame, thickness_mm: Floats, *, within: Flags
) -> tuple[tuple[Region, ...], tuple[Region, ...]]:
    contour = case.contour.surface
    thin = regions_of(
        contour,
        case.limits.least_veneer_mm - thickness_mm,
        kind="thin",
        frame=frame,
        value_mm=thickness_mm,
        choices=thin_choices(case, frame),
        within=within,
    )
    unsupported = regions_of(
        contour,
        thickness_mm - case.limits.most_unsupported_mm,
        kind="unsupported",
        frame=frame,
        value_mm=thickness_mm,
        choices=unsupported_choices(case),
        within=within,
    )
    return thin, unsupported
