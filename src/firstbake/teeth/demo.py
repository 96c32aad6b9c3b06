"""The invented demo case DEMO-A: an upper right central incisor beside its twin. No real person."""

from dataclasses import dataclass

import numpy as np

from firstbake.mesh import Surface
from firstbake.teeth.frame import Landmarks
from firstbake.teeth.generator import GeneratedCrown, generate_contour, generate_crown
from firstbake.teeth.neighbours import joined, slid_to, turned_and_moved
from firstbake.teeth.rooms import Rooms, ThinSpot
from firstbake.teeth.sizes import Sizes, usual_sizes
from firstbake.teeth.tooth import Tooth

# All figures are invented for the demo.
DEMO_ROOMS = Rooms(
    labial_cervical_mm=0.6,
    labial_middle_mm=0.9,
    labial_incisal_mm=1.2,
    edge_mm=2.0,
    palatal_mm=0.6,
    mesial_mm=0.7,
    distal_mm=0.7,
    thin_spots=(ThinSpot(side_share=-0.84, labial=True, height_share=0.24, radius_mm=0.85, room_mm=0.35),),
    source="demo",
)
_CONTACT_MM = 0.02
_CLEARANCE_MM = 0.3
_OVERBITE_MM = 2.6


@dataclass(frozen=True, eq=False)
class DemoCrown:
    """The demo's meshes and what they were made from; file coordinates as in GeneratedCrown, mm.

    contour has a gap of 0.02 mm to mesial (21) and an overlap of 0.02 mm with distal (12);
    opposing holds 41 and 31 in one surface, 0.3 mm clear of the contour, overbite 2.6 mm
    """

    tooth: Tooth
    sizes: Sizes
    rooms: Rooms
    contour: Surface
    core: Surface
    landmarks: Landmarks
    mesial: Surface
    distal: Surface
    opposing: Surface


def demo_crown(*, triangles: int = 30_000) -> DemoCrown:
    """Meshes of DEMO-A. triangles : about how many the contour has; the neighbours have half as many."""
    tooth = Tooth("11")
    sizes = usual_sizes(tooth).resized(
        crown_height_mm=10.8, mesiodistal_mm=8.6, labiopalatal_mm=7.2, source="demo"
    )
    crown = generate_crown(tooth, sizes, rooms=DEMO_ROOMS, triangles=triangles)
    twin = generate_contour(Tooth("21"), sizes, triangles=triangles // 2)
    lateral = generate_contour(Tooth("12"), usual_sizes(Tooth("12")), triangles=triangles // 2)
    right, left = np.array([-1.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0])
    twin = turned_and_moved(twin, turn_deg=8.0, shift_mm=(0.0, 0.3, 0.0))
    lateral = turned_and_moved(lateral, turn_deg=-16.0, shift_mm=(0.0, 0.9, -0.8))
    return DemoCrown(
        tooth=tooth,
        sizes=sizes,
        rooms=DEMO_ROOMS,
        contour=crown.contour,
        core=crown.core,
        landmarks=crown.landmarks,
        mesial=slid_to(twin, crown.contour, toward=right, gap_mm=_CONTACT_MM),
        distal=slid_to(lateral, crown.contour, toward=left, gap_mm=-_CONTACT_MM),
        opposing=_lower_pair(crown, triangles=triangles // 2),
    )


def _lower_pair(crown: GeneratedCrown, *, triangles: int) -> Surface:
    """41 and 31 behind the upper edge: overbite 2.6 mm, slid forward to 0.3 mm from the contour."""
    teeth = [generate_contour(Tooth(n), usual_sizes(Tooth(n)), triangles=triangles) for n in ("41", "31")]
    midline = float(crown.contour.bounds_mm[1, 0])
    edge = float(crown.contour.bounds_mm[0, 2]) + _OVERBITE_MM
    first = teeth[0]
    lift = edge - float(first.bounds_mm[1, 2])
    first = turned_and_moved(
        first, turn_deg=0.0, shift_mm=(midline - float(first.bounds_mm[1, 0]), 0.0, lift)
    )
    second = turned_and_moved(teeth[1], turn_deg=0.0, shift_mm=(0.0, 0.0, lift))
    second = slid_to(second, first, toward=np.array([-1.0, 0.0, 0.0]), gap_mm=0.05)
    forward = np.array([0.0, -1.0, 0.0])
    return slid_to(joined((first, second)), crown.contour, toward=forward, gap_mm=_CLEARANCE_MM)
