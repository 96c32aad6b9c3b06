"""Parametric crowns: a contour and a core of exact size that share one margin."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface
from firstbake.teeth.back_shape import BackShape, back_heights, back_shape
from firstbake.teeth.coping import Placing, back_coping, front_coping
from firstbake.teeth.frame import Landmarks, Point
from firstbake.teeth.front_shape import FrontShape, front_heights, front_shape
from firstbake.teeth.margin import loop_centre_mm
from firstbake.teeth.rooms import Rooms, usual_rooms
from firstbake.teeth.rows import Columns, spaced_columns, zipped_surface
from firstbake.teeth.sizes import Sizes
from firstbake.teeth.tooth import Tooth

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class GeneratedCrown:
    """A generated crown. Both surfaces are open at the margin and share its ring.

    File coordinates: x to the patient's left, -y the front of the mouth, z up, mm; the middle of the
    margin is at the origin, upper crowns point down.
    """

    tooth: Tooth
    contour: Surface
    core: Surface
    landmarks: Landmarks


def generate_crown(
    tooth: Tooth, sizes: Sizes, *, rooms: Rooms | None = None, triangles: int = 30_000
) -> GeneratedCrown:
    """Contour and core of a crown of the given sizes.

    sizes     : crown height is exact along the tooth's axis from the margin at the middle of the labial
                face (the lowest point of the contour) to its highest point; mesiodistal and
                labiopalatal sizes are the exact extents of the contour across. The axes are those that
                find_frame takes from the landmarks.
    rooms     : wanted room; the usual one when None
    triangles : about how many triangles the contour has
    raises    : BadCase when no core of that room fits inside the contour
    """
    rooms = rooms if rooms is not None else usual_rooms(sizes, front=tooth.is_front)
    shaped = _shaped(tooth, sizes, triangles=triangles)
    core = _core_points(shaped, rooms)
    return GeneratedCrown(tooth, shaped.in_file(shaped.points), shaped.in_file(core), shaped.landmarks)


def generate_contour(tooth: Tooth, sizes: Sizes, *, triangles: int = 30_000) -> Surface:
    """The contour alone, as from generate_crown."""
    shaped = _shaped(tooth, sizes, triangles=triangles)
    return shaped.in_file(shaped.points)


@dataclass(frozen=True, eq=False)
class _Shaped:
    """A contour at its exact size.

    points : (rows, 2n, 3) local coordinates, mm; height_share : (rows,) height or meridian shares, unit 1
    """

    tooth: Tooth
    shape: FrontShape | BackShape
    columns: Columns
    height_share: Floats
    placing: Placing
    points: Floats

    def in_file(self, local: Floats) -> Surface:
        """The surface over local rows in file coordinates."""
        return zipped_surface(local * self._signs, handed=self.tooth.handed)

    @property
    def landmarks(self) -> Landmarks:
        """Taps in file coordinates."""
        return _landmarks(self.points * self._signs)

    @property
    def _signs(self) -> Floats:
        """(3,) local axes (mesial, labial, incisal) in file coordinates."""
        number, upper = self.tooth.number, self.tooth.is_upper
        return np.array([1.0 if number[0] in "14" else -1.0, -1.0, -1.0 if upper else 1.0])


def _shaped(tooth: Tooth, sizes: Sizes, *, triangles: int) -> _Shaped:
    """The contour's rows at exact size. triangles : about how many."""
    half = 2 * max(round((triangles / 6) ** 0.5 / 2), 8)
    rows = max(triangles // (4 * half), 16)
    columns = spaced_columns(half)
    shape = front_shape(tooth, sizes) if tooth.is_front else back_shape(tooth, sizes)
    height = front_heights(rows, shape.edge_from) if isinstance(shape, FrontShape) else back_heights(rows)
    raw = shape.points_mm(height[:, None], columns)
    placing = _exact_placing(raw, sizes)
    return _Shaped(tooth, shape, columns, height, placing, placing(raw))


def _core_points(shaped: _Shaped, rooms: Rooms) -> Floats:
    """(rows, 2n, 3) core in local coordinates, mm."""
    contour = zipped_surface(shaped.points, handed=1)
    columns, placing = shaped.columns, shaped.placing
    if isinstance(shaped.shape, FrontShape):
        rows = len(shaped.height_share)
        return front_coping(shaped.shape, rooms, contour=contour, columns=columns, rows=rows, placing=placing)
    return back_coping(
        shaped.shape, rooms, contour=contour, columns=columns, height=shaped.height_share, placing=placing
    )


def _spots(points: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Incisal mid, mesial contact, distal contact and labial mid of (rows, 2n, 3) local or file points."""
    half = points.shape[1] // 2
    side = np.abs(points[:, 0, 0] - points[:, half, 0])
    contact = int(side.argmax())
    middle = points[:, half // 2]
    labial = int(np.abs(middle[:, 2] - (middle[0, 2] + middle[-1, 2]) / 2).argmin())
    return points[-1, half // 2], points[contact, 0], points[contact, half], middle[labial]


def _landmarks(points: Floats) -> Landmarks:
    """The taps of a generated crown in file coordinates."""

    def tap(p: Floats) -> Point:
        return float(p[0]), float(p[1]), float(p[2])

    incisal, mesial, distal, labial = (tap(p) for p in _spots(points))
    return Landmarks(incisal, mesial, distal, labial)


def _exact_placing(raw: Floats, sizes: Sizes) -> Placing:
    """The shears and scales after which sizes are exact and the taps give the coordinate axes.

    The edge comes to stand over the middle of the margin and both contacts in one plane.
    """
    placing = Placing(np.eye(3), np.zeros(3))
    middle = raw.shape[1] // 4
    for _ in range(8):
        points = placing(raw)
        centre = loop_centre_mm(points[0])
        incisal, mesial, distal, _ = _spots(points)
        axis = incisal - centre
        step = np.eye(3)
        step[0, 2], step[1, 2] = -axis[0] / axis[2], -axis[1] / axis[2]
        turn = np.eye(3)
        turn[1, 0] = -(mesial[1] - distal[1]) / (mesial[0] - distal[0])
        matrix = turn @ step @ placing.matrix
        spread = raw @ matrix.T
        extent = np.ptp(spread.reshape(-1, 3), axis=0)
        extent[2] = spread[..., 2].max() - spread[0, middle, 2]
        wanted = np.array([sizes.mesiodistal_mm, sizes.labiopalatal_mm, sizes.crown_height_mm])
        matrix = np.diag(wanted / extent) @ matrix
        placing = Placing(matrix, -loop_centre_mm(raw[0] @ matrix.T))
    return placing
