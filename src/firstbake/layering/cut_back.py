"""CutBack: what the ceramist asks of the enamel, and what is usual for each kind of tooth."""

from dataclasses import dataclass, field, fields

from firstbake.case import Limits
from firstbake.errors import BadCase
from firstbake.teeth import Tooth

_DEMO = "demo: chosen here by eye for the invented demo cases, no published source"
_PRACTICE = "common practice of the trade, no published source"
_HERE = "numerical choice made here"


@dataclass(frozen=True)
class CutBack:
    """The rules of one cut-back, fired sizes.

    Enamel thickness
      cervical_mm, middle_mm, edge_mm : in the cervical, middle and incisal (occlusal, cusp) part
      inner_share   : share of it on the palatal or lingual side, unit 1
      fissure_mm    : least of the occlusal table, in the fissures (back teeth)
      lobes, grooves : places of mamelon lobes and grooves, -1 distal to 1 mesial
      lobe_mm       : less enamel over a lobe       groove_mm : more enamel over a groove
      lobe_reach, groove_reach : half-widths (one sigma) as shares of half the crown's width
      groove_from   : height share where lobes and grooves begin
      fade_mm       : distance from the margin over which the enamel runs out
      room_share    : enamel takes no more than this share of the room there is (grooves may), unit 1
    Incisal profile of the dentine (front teeth; tip_mm 0 leaves it out)
      tip_mm        : lobe tips below the edge        valley_mm : grooves below the lobe tips
      corner_mm     : further drop at the corners
    What stays
      least_enamel_mm, least_dentine_mm : from the limits of the case
      coats_mm      : liner and opaque between core and dentine
      blend_mm      : reach of the rounded seams between the rules
    by_zone : (role, (mm in the cervical, middle and edge part)) of coats, opaque dentine and transparent, in
              place of what is usual for them; empty for the usual
    sources : name of a field -> where its value comes from
    raises  : BadCase on a length below 0 or a share outside 0 to 1
    """

    cervical_mm: float
    middle_mm: float
    edge_mm: float
    inner_share: float
    fissure_mm: float
    least_enamel_mm: float
    least_dentine_mm: float
    lobes: tuple[float, ...] = ()
    grooves: tuple[float, ...] = ()
    lobe_mm: float = 0.0
    groove_mm: float = 0.0
    lobe_reach: float = 0.14
    groove_reach: float = 0.085
    groove_from: float = 0.52
    fade_mm: float = 1.0
    room_share: float = 0.5
    tip_mm: float = 0.0
    valley_mm: float = 0.0
    corner_mm: float = 0.0
    coats_mm: float = 0.0
    blend_mm: float = 0.2
    by_zone: tuple[tuple[str, tuple[float, float, float]], ...] = ()
    sources: dict[str, str] = field(default_factory=dict, compare=False)

    def __post_init__(self) -> None:
        for entry in fields(self):
            value = getattr(self, entry.name)
            if entry.name.endswith("_mm") and not value >= 0:
                raise BadCase(f"cut-back {entry.name} is {value}; give a length of 0 mm or more")
            if entry.name.endswith("_share") and not 0 <= value <= 1:
                raise BadCase(f"cut-back {entry.name} is {value}; give a share from 0 to 1")

    def zones_of(self, role: str) -> tuple[float, float, float] | None:
        """Thickness of that role in the three parts as prescribed, mm, or None."""
        return next((zones for name, zones in self.by_zone if name == role), None)

    @property
    def least_room_mm(self) -> float:
        """Room that coats, least dentine and least enamel need together, mm."""
        return self.coats_mm + self.least_dentine_mm + self.least_enamel_mm


# Bench habits of the demo cases: 0.2 mm at the neck, 0.3 in the middle, 0.6 to 0.9 in the incisal third;
# fissures and cusps of back teeth after 0.2 to 0.4 mm. Lobe tips 0.4 to 1.5 mm below the edge, valleys
# 0.3 to 0.8 mm deep, each lobe about a quarter of the width: common practice.
_USUAL: dict[str, dict[str, float | tuple[float, ...]]] = {
    "incisor": {
        "cervical_mm": 0.20,
        "middle_mm": 0.35,
        "edge_mm": 0.70,
        "inner_share": 0.70,
        "fissure_mm": 0.0,
        "lobes": (-0.62, 0.0, 0.62),
        "grooves": (-0.31, 0.31),
        "lobe_mm": 0.08,
        "groove_mm": 0.25,
        "tip_mm": 1.0,
        "valley_mm": 0.6,
        "corner_mm": 0.35,
    },
    "canine": {
        "cervical_mm": 0.20,
        "middle_mm": 0.40,
        "edge_mm": 0.75,
        "inner_share": 0.75,
        "fissure_mm": 0.0,
        "lobes": (0.0,),
        "lobe_mm": 0.15,
        "lobe_reach": 0.22,
        "tip_mm": 1.0,
        "corner_mm": 0.35,
    },
    "premolar": {
        "cervical_mm": 0.20,
        "middle_mm": 0.40,
        "edge_mm": 0.70,
        "inner_share": 0.90,
        "fissure_mm": 0.30,
    },
    "molar": {
        "cervical_mm": 0.20,
        "middle_mm": 0.40,
        "edge_mm": 0.70,
        "inner_share": 1.0,
        "fissure_mm": 0.30,
    },
}
_USUAL_SOURCE = {
    "lobes": _PRACTICE + "; three mamelons, each about a quarter of the width",
    "grooves": _PRACTICE,
    "tip_mm": _PRACTICE + "; 0.4 to 1.5 mm below the edge",
    "valley_mm": _PRACTICE + "; 0.3 to 0.8 mm deep",
    "fade_mm": _PRACTICE + "; no enamel at the margin itself",
    "room_share": _PRACTICE + "; at least half of the room stays dentine",
    "blend_mm": _HERE,
    "by_zone": "none prescribed: thin layers as usual",
}


def usual_cut_back(tooth: Tooth, limits: Limits, *, coats_mm: float = 0.0) -> CutBack:
    """The usual rules for one tooth, with the limits of its case.

    coats_mm : liner and opaque under the dentine, mm
    """
    usual = _USUAL[tooth.kind]
    sources = {entry.name: _USUAL_SOURCE.get(entry.name, _DEMO) for entry in fields(CutBack)}
    for name in ("least_enamel_mm", "least_dentine_mm"):
        sources[name] = limits.sources.get(name, "limits of the case")
    sources["coats_mm"] = "cards of liner and opaque"
    del sources["sources"]
    return CutBack(
        least_enamel_mm=limits.least_enamel_mm,
        least_dentine_mm=limits.least_dentine_mm,
        coats_mm=coats_mm,
        sources=sources,
        **usual,  # type: ignore[arg-type]
    )
