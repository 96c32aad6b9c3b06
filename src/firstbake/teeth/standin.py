"""A core stand-in from a wanted contour alone: an inward offset that runs out at the margin."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from firstbake.errors import BadCase
from firstbake.mesh import Grid, Surface, nearest, signed_distance, sub_surface, zero_surface
from firstbake.teeth.finding import find_frame
from firstbake.teeth.frame import Frame, Landmarks
from firstbake.teeth.rooms import Rooms, faded, usual_rooms
from firstbake.teeth.rows import smooth_step
from firstbake.teeth.sizes import usual_sizes
from firstbake.teeth.tooth import Tooth
from firstbake.teeth.trim import kept_above, with_skirt

Floats = NDArray[np.float64]
_SKIRT_MM = 3.0
_SMOOTH_MM = 0.25
_INSIDE_MM = 1e-3
_EDGE_BLEND_MM = 0.5


def core_stand_in(
    contour: Surface,
    *,
    tooth: Tooth,
    rooms: Rooms | None = None,
    crown_height_mm: float | None = None,
    neighbours: tuple[Surface, ...] = (),
    landmarks: Landmarks | None = None,
    step_mm: float = 0.2,
) -> Surface:
    """A smooth core inside the contour, open at the margin, where its room runs out over 1 mm.

    contour         : open at the margin, or closed; a closed one may hold the root
    rooms           : wanted room; the usual one when None. thin_spots are not used here
    crown_height_mm : closed contours only: height of the crown at mid-face, from which the margin follows
                      with the usual rise at the sides; the usual height of the tooth when None
    step_mm         : spacing of the level-set grid
    raises          : BadCase when no core of that room fits inside the contour
    """
    sizes = usual_sizes(tooth)
    rooms = rooms if rooms is not None else usual_rooms(sizes, front=tooth.is_front)
    taps = landmarks if landmarks is not None else Landmarks()
    cap = contour
    if not contour.loops:
        cap = crown_cap(contour, tooth=tooth, crown_height_mm=crown_height_mm, neighbours=neighbours)
    frame = find_frame(tooth, contour=contour, core=cap, neighbours=neighbours, landmarks=taps)
    body = with_skirt(contour, frame, length_mm=_SKIRT_MM)
    grid = Grid.around(cap, step_mm=step_mm, margin_mm=1.0)
    field = _core_field(body, rooms, frame=frame, grid=grid)
    if not (field < 0).any():
        raise _no_core(tooth)
    raw = zero_surface(grid, field)
    local = frame.to_local(raw.vertices_mm)
    core = kept_above(raw, local[:, 2] - frame.margin_height_mm(local) - _INSIDE_MM)
    core = _kept_inside(core, contour)
    if frame.to_local(core.vertices_mm)[:, 2].max() < 0.5 * frame.height_mm:
        raise _no_core(tooth)
    return core


def _no_core(tooth: Tooth) -> BadCase:
    return BadCase(
        f"no core with the wanted room fits inside the contour of tooth {tooth.number}; give less room"
    )


def crown_cap(
    contour: Surface,
    *,
    tooth: Tooth,
    crown_height_mm: float | None = None,
    neighbours: tuple[Surface, ...] = (),
) -> Surface:
    """The crown part of a closed contour with its root, open along the usual margin.

    crown_height_mm : at mid-face, mm; the usual height of the tooth when None
    raises          : BadCase when the contour is not taller than that crown
    """
    sizes = usual_sizes(tooth)
    height = crown_height_mm if crown_height_mm is not None else sizes.crown_height_mm
    middle, axis = _long_axis(contour)
    along = (contour.vertices_mm - middle) @ axis
    if np.ptp(along) < height + 0.5:
        raise BadCase(f"the contour is {np.ptp(along):.1f} mm long, too short for a crown of {height:g} mm")
    plane = kept_above(contour, along - (along.max() - height))
    frame = find_frame(tooth, contour=contour, core=plane, neighbours=neighbours, landmarks=Landmarks())
    local = frame.to_local(contour.vertices_mm)
    share = np.clip(2 * local[:, 0] / frame.width_mm, -1.0, 1.0)
    rise = np.where(share > 0, sizes.neck_rise_mesial_mm, sizes.neck_rise_distal_mm)
    top = float(local[:, 2].max())
    return kept_above(contour, local[:, 2] - (top - height) - rise * np.abs(share) ** 2.2)


def _long_axis(contour: Surface) -> tuple[Floats, Floats]:
    """Middle and unit long axis of a closed tooth with its root; the axis points to the bulkier end."""
    a, b, c = (contour.vertices_mm[contour.faces[:, k]] for k in range(3))
    weight = contour.face_areas_mm2 + 1e-12
    middle = np.average((a + b + c) / 3, axis=0, weights=weight)
    offset = (a + b + c) / 3 - middle
    axis = np.linalg.eigh(np.einsum("i,ij,ik->jk", weight, offset, offset))[1][:, 2]
    cone = np.einsum("ij,ij->i", a - middle, np.cross(b - middle, c - middle))
    bulk = float((cone * (0.75 * offset @ axis)).sum() / cone.sum())
    along = (contour.vertices_mm - middle) @ axis
    return np.asarray(middle), np.asarray(axis if bulk > (along.max() + along.min()) / 2 else -axis)


def _core_field(body: Surface, rooms: Rooms, *, frame: Frame, grid: Grid) -> Floats:
    """(nodes,) less than 0 inside the core: distance to the contour plus the room, edge cut off, smoothed."""
    points = grid.points_mm
    found = signed_distance(body, points)
    local = frame.to_local(points)
    above = local[:, 2] - frame.margin_height_mm(local)
    outward = np.sign(found.distance_mm)[:, None] * (points - found.foot_mm)
    outward = outward / np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-9)
    room = _room_at(rooms, frame, outward=outward @ frame.axes.T, local=local)
    field = found.distance_mm + faded(room, above)
    if frame.tooth.is_front:
        field = _smooth_max(field, local[:, 2] - (frame.height_mm - rooms.edge_mm), _EDGE_BLEND_MM)
    counts = grid.counts[::-1]
    soft = gaussian_filter(field.reshape(counts), _SMOOTH_MM / grid.step_mm).ravel()
    share = smooth_step((above - 0.3) / 1.0)
    return np.asarray(field * (1 - share) + soft * share)


def _room_at(rooms: Rooms, frame: Frame, *, outward: Floats, local: Floats) -> Floats:
    """(p,) room wanted by the direction of the nearest wall and the height, mm.

    outward : (p, 3) unit, in the frame's axes
    """
    flat = np.maximum(np.hypot(outward[:, 0], outward[:, 1]), 1e-6)
    across = (outward[:, 1] / flat) ** 2
    height = np.clip(local[:, 2] / max(frame.height_mm, 1e-6), 0.0, 1.0)
    labial = smooth_step(outward[:, 1] / flat / 0.6 + 0.5)
    face = rooms.palatal_mm * (1 - labial) + rooms.labial_mm(height) * labial
    mesial = smooth_step(outward[:, 0] / flat / 0.6 + 0.5)
    side = rooms.distal_mm * (1 - mesial) + rooms.mesial_mm * mesial
    wall = face * across + side * (1 - across)
    if frame.tooth.is_front:
        return np.asarray(wall)
    over = smooth_step((outward[:, 2] - 0.35) / 0.4)
    return np.asarray(wall * (1 - over) + rooms.edge_mm * over)


def _smooth_max(a: Floats, b: Floats, width: float) -> Floats:
    """Greater of two fields, blended with a continuous second derivative over `width`."""
    h = np.maximum(width - np.abs(a - b), 0.0) / width
    return np.asarray(np.maximum(a, b) + h**3 * width / 6)


def _kept_inside(core: Surface, contour: Surface) -> Surface:
    """Vertices that stand out of the contour or touch it (near the margin) set 1 µm under it."""
    found = nearest(contour, core.vertices_mm)
    normal = contour.face_normals[found.face]
    height = ((core.vertices_mm - found.foot_mm) * normal).sum(axis=1)
    outside = (height > -_INSIDE_MM) & (found.distance_mm < 0.3)
    vertices = np.where(outside[:, None], found.foot_mm - _INSIDE_MM * normal, core.vertices_mm)
    moved = core.moved(vertices)
    return sub_surface(moved, moved.face_areas_mm2 > 1e-12)[0]
