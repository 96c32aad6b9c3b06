"""Usual sizes of the sixteen kinds of permanent tooth, each with its source."""

from dataclasses import dataclass, replace

from firstbake.errors import BadCase
from firstbake.teeth.tooth import Tooth

_ASH_NELSON = "average sizes after the table of Ash and Nelson, Wheeler's Dental Anatomy"
_MEMORY = f"from memory, unverified: {_ASH_NELSON}"
_PARTLY = f"crown sizes looked up, the rest from memory, unverified: {_ASH_NELSON}"

# upper/lower + position: crown height, mesiodistal, labiopalatal, neck MD, neck LL, neck-line rise
# mesial and distal (mm), contact heights mesial and distal (share of crown height, an estimate from
# the third of the crown in which the table puts the contact), source.
_ROWS: dict[str, tuple[float, float, float, float, float, float, float, float, float, str]] = {
    "U1": (10.5, 8.5, 7.0, 7.0, 6.0, 3.5, 2.5, 0.85, 0.67, _PARTLY),
    "U2": (9.0, 6.5, 6.0, 5.0, 5.0, 3.0, 2.0, 0.67, 0.55, _PARTLY),
    "U3": (10.0, 7.5, 8.0, 5.5, 7.0, 2.5, 1.5, 0.67, 0.50, _MEMORY),
    "U4": (8.5, 7.0, 9.0, 5.0, 8.0, 1.0, 0.0, 0.60, 0.58, _MEMORY),
    "U5": (8.5, 7.0, 9.0, 5.0, 8.0, 1.0, 0.0, 0.60, 0.58, _PARTLY),
    "U6": (7.5, 10.0, 11.0, 8.0, 10.0, 1.0, 0.0, 0.60, 0.55, _PARTLY),
    "U7": (7.0, 9.0, 11.0, 7.0, 10.0, 1.0, 0.0, 0.57, 0.52, _MEMORY),
    "U8": (6.5, 8.5, 10.0, 6.5, 9.5, 1.0, 0.0, 0.55, 0.52, _MEMORY),
    "L1": (9.0, 5.0, 6.0, 3.5, 5.3, 3.0, 2.0, 0.85, 0.85, _MEMORY),
    "L2": (9.5, 5.5, 6.5, 4.0, 5.8, 3.0, 2.0, 0.85, 0.80, _MEMORY),
    "L3": (11.0, 7.0, 7.5, 5.5, 7.0, 2.5, 1.0, 0.80, 0.67, _MEMORY),
    "L4": (8.5, 7.0, 7.5, 5.0, 6.5, 1.0, 0.0, 0.63, 0.63, _MEMORY),
    "L5": (8.0, 7.0, 8.0, 5.0, 7.0, 1.0, 0.0, 0.63, 0.62, _MEMORY),
    "L6": (7.5, 11.0, 10.5, 9.0, 9.0, 1.0, 0.0, 0.65, 0.60, _MEMORY),
    "L7": (7.0, 10.5, 10.0, 8.0, 9.0, 1.0, 0.0, 0.60, 0.57, _MEMORY),
    "L8": (7.0, 10.0, 9.5, 7.5, 9.0, 1.0, 0.0, 0.57, 0.52, _MEMORY),
}


@dataclass(frozen=True)
class Sizes:
    """Sizes of one crown.

    crown_height_mm : along the tooth's axis from the margin at the middle of the labial (buccal) face
                      to the highest point of the edge or cusps, mm
    mesiodistal_mm, labiopalatal_mm : greatest extents across, mm
    neck_mesiodistal_mm, neck_labiopalatal_mm : the same at the margin, mm
    neck_rise_mesial_mm, neck_rise_distal_mm : how far the margin rises toward the edge on the sides, mm
    contact_mesial_share, contact_distal_share : height of the contacts, share of crown_height_mm, unit 1
    source : where the figures come from, in words
    """

    crown_height_mm: float
    mesiodistal_mm: float
    labiopalatal_mm: float
    neck_mesiodistal_mm: float
    neck_labiopalatal_mm: float
    neck_rise_mesial_mm: float
    neck_rise_distal_mm: float
    contact_mesial_share: float
    contact_distal_share: float
    source: str

    def __post_init__(self) -> None:
        for name in ("crown_height_mm", "mesiodistal_mm", "labiopalatal_mm"):
            value = getattr(self, name)
            if not 2.0 <= value <= 20.0:
                raise BadCase(
                    f"{name} is {value:g}, but no crown is less than 2 or more than 20 mm; measure it again"
                )

    def resized(
        self, *, crown_height_mm: float, mesiodistal_mm: float, labiopalatal_mm: float, source: str
    ) -> "Sizes":
        """These proportions at other outer sizes (mm): neck sizes and rises scale along.

        raises : BadCase when a size is outside 2 to 20 mm
        """
        up = crown_height_mm / self.crown_height_mm
        return replace(
            self,
            crown_height_mm=crown_height_mm,
            mesiodistal_mm=mesiodistal_mm,
            labiopalatal_mm=labiopalatal_mm,
            neck_mesiodistal_mm=self.neck_mesiodistal_mm * mesiodistal_mm / self.mesiodistal_mm,
            neck_labiopalatal_mm=self.neck_labiopalatal_mm * labiopalatal_mm / self.labiopalatal_mm,
            neck_rise_mesial_mm=self.neck_rise_mesial_mm * up,
            neck_rise_distal_mm=self.neck_rise_distal_mm * up,
            source=source,
        )


def usual_sizes(tooth: Tooth) -> Sizes:
    """Handbook averages for the tooth, the same on both sides; the source stands in .source."""
    return Sizes(*_ROWS[("U" if tooth.is_upper else "L") + tooth.number[1]])
