"""Wanted room between a core and its contour, by named spots."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from firstbake.errors import BadCase
from firstbake.teeth.rows import smooth_step
from firstbake.teeth.sizes import Sizes

Floats = NDArray[np.float64]
FADE_MM = 1.0  # the room runs out to nothing over this height above the margin


@dataclass(frozen=True)
class ThinSpot:
    """A patch with less room than round it.

    side_share   : -1 distal to +1 mesial, position across the face, unit 1
    labial       : True on the labial (buccal) face
    height_share : 0 margin to 1 edge, unit 1
    radius_mm    : half way between the patch and its surroundings, mm
    room_mm      : room in the patch, mm
    """

    side_share: float
    labial: bool
    height_share: float
    radius_mm: float
    room_mm: float


@dataclass(frozen=True)
class Rooms:
    """Shortest distance from core to contour at named spots, mm; a calliper can measure each.

    edge_mm : along the tooth's axis from the core's edge to the edge on front teeth; shortest distance
              over the core's table on back teeth. The others are shortest distances at mid-face.
    source  : where the figures come from. The defaults are common practice for a veneered core
              (about 1 mm on the faces, 2 mm at the edge), not a published value.
    """

    labial_cervical_mm: float = 0.8
    labial_middle_mm: float = 1.0
    labial_incisal_mm: float = 1.1
    edge_mm: float = 2.0
    palatal_mm: float = 0.8
    mesial_mm: float = 0.9
    distal_mm: float = 0.9
    thin_spots: tuple[ThinSpot, ...] = ()
    source: str = "common practice"

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if name.endswith("_mm") and not 0.0 < value <= 5.0:
                raise BadCase(f"room {name} is {value:g}; give more than 0 and at most 5 mm")

    def labial_mm(self, height: Floats) -> Floats:
        """Room wanted in the middle of the labial face at height shares, mm.

        The cervical value holds up to the middle of the cervical third, the incisal one from 3/4 up, since
        a core ends below the middle of the incisal third.
        """
        values = (self.labial_cervical_mm,) * 2 + (self.labial_middle_mm,) + (self.labial_incisal_mm,) * 2
        line = PchipInterpolator((0.0, 1 / 6, 0.5, 0.75, 1.0), values)
        return np.asarray(line(np.clip(height, 0.0, 1.0)))

    def at(self, height: Floats, normal: Floats, *, labial: NDArray[np.bool_]) -> Floats:
        """Room wanted on the wall, mm.

        height : (rows, 2n) height shares, 0 margin to 1 edge
        normal : (rows, 2n, 2) unit outward normals of the outline, x mesial and y labial
        labial : (2n,) True on the labial half
        """
        face = np.where(labial[None, :], self.labial_mm(height), self.palatal_mm)
        side = np.where(normal[..., 0] > 0, self.mesial_mm, self.distal_mm)
        across = normal[..., 1] ** 2
        return np.asarray(face * across + side * (1 - across))


def faded(room_mm: Floats, above_margin_mm: Floats) -> Floats:
    """The room, run out to nothing at the margin, mm."""
    return np.asarray(room_mm * smooth_step(above_margin_mm / FADE_MM))


def with_spot(room_mm: Floats, distance_mm: Floats, spot: ThinSpot) -> Floats:
    """The room with a thin spot pressed in. distance_mm : from the spot's middle, mm."""
    inside = 1 - smooth_step((distance_mm / spot.radius_mm - 0.75) / 0.5)
    return np.asarray(room_mm + np.minimum(spot.room_mm - room_mm, 0.0) * inside)


def usual_rooms(sizes: Sizes, *, front: bool) -> Rooms:
    """Common practice for a veneered core: about 1 mm on the faces, 2 mm at the edge (1.4 mm over a table).

    A crown smaller than an upper central incisor gets less in proportion (demo rule of this project).
    """
    share = min(1.0, sizes.mesiodistal_mm / 8.5, sizes.labiopalatal_mm / 7.0)
    usual = Rooms()
    return Rooms(
        labial_cervical_mm=share * usual.labial_cervical_mm,
        labial_middle_mm=share * usual.labial_middle_mm,
        labial_incisal_mm=share * usual.labial_incisal_mm,
        edge_mm=share * (usual.edge_mm if front else 1.4),
        palatal_mm=share * usual.palatal_mm,
        mesial_mm=share * usual.mesial_mm,
        distal_mm=share * usual.distal_mm,
        source=usual.source,
    )
