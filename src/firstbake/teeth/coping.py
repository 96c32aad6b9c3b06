"""The core (coping) of a generated crown: points at the wanted room under the contour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadCase
from firstbake.mesh import Surface, nearest
from firstbake.teeth.back_shape import BackShape
from firstbake.teeth.front_shape import FrontShape, edge_closing, front_heights
from firstbake.teeth.rooms import Rooms, faded, with_spot
from firstbake.teeth.rows import Columns, smooth_step

Floats = NDArray[np.float64]
_LEAST_EDGE_MM = 0.8  # a core is kept at least this thick, labial to palatal, up to its edge (by eye)
_LEAST_HALF_MM = 0.3  # and reaches at least this far from its middle sheet (by eye)
_BLEND_MM = 0.2
_STEPS = 20
_NEAR_ENOUGH_MM = 1e-5
_NO_ROOM_MM = 1e-6
_SAMPLES = (0.0, 0.2, 0.4, 0.6, 0.8)


@dataclass(frozen=True, eq=False)
class Placing:
    """The linear map that brings a shape to its exact size: matrix (3, 3) and shift (3,) mm."""

    matrix: Floats
    shift_mm: Floats

    def __call__(self, points: Floats) -> Floats:
        return np.asarray(points @ self.matrix.T + self.shift_mm)


def front_coping(
    shape: FrontShape, rooms: Rooms, *, contour: Surface, columns: Columns, rows: int, placing: Placing
) -> Floats:
    """(rows, 2n, 3) points of the core of a front tooth in local coordinates, mm.

    Its edge lies rooms.edge_mm under the contour's edge, its first row is the contour's margin.
    raises : BadCase when the contour is too thin for the rooms
    """
    u = columns.share[None, :]
    low, top = shape.margin_mm(u), shape.edge_mm(u)
    reach = (top - rooms.edge_mm / placing.matrix[2, 2] - low) / (top - low)
    rising = front_heights(rows, 0.88)[:, None]
    height = rising * np.maximum(reach, 0.3)
    raw = shape.points_mm(height, columns)
    outer = placing(raw)
    labial, palatal = shape.faces_mm(height)
    thick = (labial - palatal) * placing.matrix[1, 1]
    front, back = rooms.labial_mm(height), rooms.palatal_mm
    squeeze = np.clip((thick - _LEAST_EDGE_MM) / (front + back), 0.2, 1.0)
    front, back = front * squeeze / placing.matrix[1, 1], back * squeeze / placing.matrix[1, 1]
    wanted = rooms.at(height, _outline_normals(outer), labial=columns.labial)
    wanted = _spotted(wanted, outer, rooms, middle=placing, shape=shape)
    wanted = faded(wanted, outer[..., 2] - outer[:1, :, 2])
    spine = raw.copy()
    half = shape.sizes.mesiodistal_mm / 2
    side = np.where(u > 0, rooms.mesial_mm, rooms.distal_mm)
    spine[..., 0] *= np.clip(1 - (side + 0.5) / half, 0.2, 0.85)
    spine[..., 1] = (labial + palatal + back - front) / 2
    inner = placing(spine)
    share, fitting = settle(contour, inner, outer, wanted)
    _refuse_thin((wanted - fitting)[(height > 0.15) & (height < 0.6)])
    share = share * edge_closing(rising, 0.88)
    points = inner + share[..., None] * (outer - inner)
    points[0] = outer[0]
    return np.asarray(points)


def back_coping(
    shape: BackShape, rooms: Rooms, *, contour: Surface, columns: Columns, height: Floats, placing: Placing
) -> Floats:
    """(rows, 2n, 3) points of the core of a premolar or molar in local coordinates, mm.

    height : (rows,) meridian shares, as for the contour
    raises : BadCase when the contour is too thin for the rooms
    """
    raw = shape.points_mm(height[:, None], columns)
    outer = placing(raw)
    up = np.broadcast_to(height[:, None], outer.shape[:2])
    wall = rooms.at(up, _outline_normals(outer), labial=columns.labial)
    over = smooth_step((up - 0.3) / 0.35)
    wanted = wall * (1 - over) + rooms.edge_mm * over
    wanted = _spotted(wanted, outer, rooms, middle=placing, shape=shape)
    wanted = faded(wanted, outer[..., 2] - outer[:1, :, 2])
    spine = raw.copy()
    spine[..., 0] = 0.3 * shape.sizes.mesiodistal_mm / 2 * columns.share[None, :]
    spine[..., 1] = -0.5 * shape.lean * shape.sizes.labiopalatal_mm
    spine[..., 2] = np.minimum(raw[..., 2], 0.3 * shape.sizes.crown_height_mm)
    inner = placing(spine)
    share, fitting = settle(contour, inner, outer, wanted)
    _refuse_thin((wanted - fitting)[4:])
    points = inner + share[..., None] * (outer - inner)
    points[0] = outer[0]
    return np.asarray(points)


def settle(contour: Surface, inner: Floats, outer: Floats, wanted_mm: Floats) -> tuple[Floats, Floats]:
    """Where on the way from inner to outer points the contour is wanted_mm away.

    inner, outer : (rows, 2n, 3) mm; outer points lie on the contour
    wanted_mm    : (rows, 2n) shortest distance wanted, mm
    returns      : (rows, 2n) share of the way; (rows, 2n) room that was possible there, mm, smoothly at
                   most the wanted one
    """
    way = (outer - inner).reshape(-1, 3)
    length = np.maximum(np.linalg.norm(way, axis=1), 1e-9)
    ray = way / length[:, None]
    start = inner.reshape(-1, 3)
    least = np.minimum(_LEAST_HALF_MM, 0.5 * length)
    places = [least + share * (length - least) for share in _SAMPLES]
    depth = np.array([nearest(contour, start + s[:, None] * ray).distance_mm for s in places])
    deepest = depth.argmax(axis=0)
    low = np.array(places)[deepest, np.arange(len(length))]
    fitting = _at_most(wanted_mm.ravel(), depth.max(axis=0))
    at = _bisect(contour, start, ray, wanted=fitting, span=(low, length))
    return (at / length).reshape(wanted_mm.shape), fitting.reshape(wanted_mm.shape)


def _bisect(
    contour: Surface, start: Floats, ray: Floats, *, wanted: Floats, span: tuple[Floats, Floats]
) -> Floats:
    """(p,) lengths along the rays at which the contour is wanted away: Newton, kept between the ends."""
    low, high = (end.copy() for end in span)
    at = np.clip(high - wanted, low, high)
    busy = np.flatnonzero(wanted >= _NO_ROOM_MM)
    for _ in range(_STEPS):
        here = start[busy] + at[busy, None] * ray[busy]
        found = nearest(contour, here)
        left = found.distance_mm - wanted[busy]
        far = np.abs(left) > _NEAR_ENOUGH_MM
        if not far.any():
            break
        slope = ((found.foot_mm - here) * ray[busy]).sum(axis=1) / np.maximum(found.distance_mm, 1e-9)
        busy, left, slope = busy[far], left[far], slope[far]
        low[busy] = np.where(left > 0, at[busy], low[busy])
        high[busy] = np.where(left > 0, high[busy], at[busy])
        newton = at[busy] + left / np.maximum(slope, 0.2)
        between = (newton > low[busy]) & (newton < high[busy])
        at[busy] = np.where(between, newton, (low[busy] + high[busy]) / 2)
    return np.asarray(np.where(wanted < _NO_ROOM_MM, span[1], at))


def _at_most(wanted: Floats, most: Floats) -> Floats:
    """The lesser of both, blended smoothly from below, never less than half of it, mm."""
    over = np.maximum(_BLEND_MM - np.abs(wanted - most), 0.0) / _BLEND_MM
    lesser = np.minimum(wanted, most)
    return np.asarray(np.maximum(lesser - over**3 * _BLEND_MM / 6, 0.5 * lesser))


def _refuse_thin(missing_mm: Floats) -> None:
    """Raise BadCase when the room asked for leaves no core in more than a twentieth of the wall."""
    if float((missing_mm > 0.1).mean()) > 0.05:
        raise BadCase(
            "the contour is too thin for the room asked for, no core fits inside; "
            "give less room or larger sizes"
        )


def _spotted(
    wanted: Floats, outer: Floats, rooms: Rooms, *, middle: Placing, shape: FrontShape | BackShape
) -> Floats:
    """The wanted room with the thin spots pressed in, mm."""
    for spot in rooms.thin_spots:
        one = Columns(np.array([spot.side_share]), np.array([spot.labial]))
        centre = middle(shape.points_mm(np.array([[spot.height_share]]), one))[0, 0]
        wanted = with_spot(wanted, np.linalg.norm(outer - centre, axis=-1), spot)
    return wanted


def _outline_normals(outer: Floats) -> Floats:
    """(rows, 2n, 2) unit outward normals of each row in its own plane."""
    along = np.roll(outer, -1, axis=1) - np.roll(outer, 1, axis=1)
    normal = np.stack([along[..., 1], -along[..., 0]], axis=-1)
    return np.asarray(normal / np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-12))
