"""A crown from calliper sizes: the generator's shape scaled to what was measured."""

from dataclasses import dataclass, replace

from firstbake.files.case_schema import SizesTable
from firstbake.teeth import GeneratedCrown, Rooms, Tooth, generate_crown, usual_rooms, usual_sizes

# A bench calliper reads to 0.05 mm (common practice). Where a room was not measured the usual one stands in;
# 0.2 mm is our own estimate of how far that may be off, unverified.
MEASURED_DOUBT_MM, ASSUMED_DOUBT_MM = 0.05, 0.2


@dataclass(frozen=True, eq=False)
class SizedCrown:
    """A generated crown of the measured sizes.

    doubt_mm : one standard deviation of its lengths, mm
    notes    : what was measured and what was assumed, in sentences
    """

    crown: GeneratedCrown
    doubt_mm: float
    notes: tuple[str, ...]


def crown_from_sizes(tooth: Tooth, sizes: SizesTable) -> SizedCrown:
    """The generator's crown at the calliper sizes, with the measured rooms where given.

    raises : BadCase when no core of that room fits inside the contour
    """
    wanted = usual_sizes(tooth).resized(
        crown_height_mm=sizes.crown_height_mm,
        mesiodistal_mm=sizes.mesiodistal_mm,
        labiopalatal_mm=sizes.labiopalatal_mm,
        source="calliper",
    )
    written = {k: v for k, v in sizes.room.model_dump().items() if v is not None}
    measured = {("edge_mm" if k == "incisal_mm" else k): v for k, v in written.items()}
    rooms: Rooms = replace(usual_rooms(wanted, front=tooth.is_front), **measured)
    crown = generate_crown(tooth, wanted, rooms=rooms)
    assumed = [k for k in type(sizes.room).model_fields if k not in written]
    notes = ["contour and core shaped from calliper sizes, not measured on meshes"]
    if assumed:
        notes.append("room not measured, usual room taken: " + ", ".join(assumed))
    return SizedCrown(crown, ASSUMED_DOUBT_MM if assumed else MEASURED_DOUBT_MM, tuple(notes))
