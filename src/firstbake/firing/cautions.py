"""The usual precautions as data, each with its source and where it belongs."""

from dataclasses import dataclass

from firstbake.firing.expansion import expansion_words
from firstbake.powder import CoreMaterial, Powder

FIRST = "first bake of the sequence"
_WET = ("liner", "wash", "opaque", "margin", "main", "correction", "glaze")
_CERAMICS = ("zirconia", "alumina", "glass-ceramic")


@dataclass(frozen=True)
class Caution:
    """One precaution.

    hazard   : what can do harm, "silica dust"
    sentence : what to do
    source   : a citation, "usual precaution" or "from memory, unverified"
    bakes    : names of the bakes where it is shown; empty when it belongs at the foot of the sheet only
    """

    hazard: str
    sentence: str
    source: str
    bakes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _For:
    """A caution, the kinds of core it is for (none named: all) and the substance the core must hold."""

    caution: Caution
    kinds: tuple[str, ...] = ()
    holds: str = ""

    def applies(self, core: CoreMaterial) -> bool:
        right_kind = not self.kinds or core.kind in self.kinds
        return right_kind and (not self.holds or self.holds in core.holds)


_USUAL = (
    _For(
        Caution(
            "planning aid",
            "The makers' instructions and the prescriber decide; write down every departure with your name.",
            "usual precaution",
        )
    ),
    _For(
        Caution(
            "silica dust",
            "Blasting, devesting and dry grinding free fine silica (US limit 50 µg/m³ over 8 h): suction at "
            "the work, grind wet, wear a mask.",
            "US silica rule of 2016, from a trade-press report; 10.1 % of 893 technicians ill, blasting "
            "raised the risk 77-fold, doi 10.2478/s13382-014-0301-9",
            ("oxidise", "correction"),
        )
    ),
    _For(
        Caution(
            "ceramic dust",
            "Grind wet or with suction, never clean with compressed air.",
            "usual precaution; no agreed limit for the finest zirconia dust is known here",
            ("correction",),
        ),
        kinds=_CERAMICS,
    ),
    _For(
        Caution(
            "zirconia surface",
            "Blasting and dry grinding change some zirconia so that it fits the porcelain no more: "
            "grind wet and light, blast only if the maker says so.",
            "Int J Oral Sci 2016, doi 10.1038/ijos.2016.20",
            (FIRST,),
        ),
        kinds=("zirconia",),
    ),
    _For(
        Caution(
            "nickel",
            "Nickel is a common contact allergen: ask, record the answer, use suction when grinding.",
            "8 % of women and 0.8 % of men among 980 people tested (Peltonen)",
            ("oxidise",),
        ),
        kinds=("metal",),
        holds="nickel",
    ),
    _For(
        Caution(
            "cobalt",
            "Cobalt can cause allergy and its dust harms the lungs: ask, record, use suction when grinding.",
            "usual precaution",
            ("oxidise",),
        ),
        kinds=("metal",),
        holds="cobalt",
    ),
    _For(
        Caution(
            "hydrofluoric acid",
            "Hydrofluoric acid burns deep and may hurt late: gloves, face shield, hood, 2.5 % calcium "
            "gluconate gel at hand; after contact rinse, rub in the gel, see a doctor at once.",
            "Özcan et al. 2012, doi 10.1007/s00784-011-0636-6; gel strength from a first-aid page",
            (FIRST,),
        ),
        kinds=("glass-ceramic",),
    ),
    _For(
        Caution(
            "eyes",
            "Eye shield; burs under their rated speed.",
            "usual precaution",
        )
    ),
    _For(
        Caution(
            "hot furnace",
            "A hot piece looks cold: use tongs, keep your face away from the opening muffle.",
            "usual precaution",
            ("oxidise", *_WET),
        )
    ),
    _For(
        Caution(
            "steam",
            "Nothing wet goes into a hot furnace: dry in front of it first.",
            "usual precaution",
            _WET,
        )
    ),
    _For(
        Caution(
            "fibre dust",
            "Old muffle insulation may shed harmful fibres: do not brush or blow it out.",
            "from memory, unverified",
            (FIRST,),
        )
    ),
    _For(
        Caution(
            "furnace drift",
            "Furnace thermometers drift: judge a clear porcelain button or melting silver before you trust "
            "the peak.",
            "common practice",
            ("main",),
        )
    ),
    _For(
        Caution(
            "repeated firing",
            "Every further bake shifts colour and gloss, most under 2 mm of ceramic; more than two "
            "corrections are a warning.",
            "Gonuldas et al. 2014, doi 10.4047/jap.2014.6.4.309; counts common practice",
            ("correction",),
        )
    ),
    _For(
        Caution(
            "pigments",
            "Use only stains whose maker states what is in them.",
            "usual precaution",
            ("glaze",),
        )
    ),
    _For(
        Caution(
            "steam jet",
            "Steam and ultrasonic baths scald: hold the work with tweezers.",
            "usual precaution",
        )
    ),
    _For(
        Caution(
            "infection",
            "Impressions and tried-in crowns are infectious until recorded clean; pumice and "
            "wheels pass it on.",
            "usual precaution",
        )
    ),
)

_BERYLLIUM = Caution(
    "beryllium",
    "The card does not say whether this alloy holds beryllium (US limit 0.2 µg/m³ over 8 h): ask the maker "
    "before grinding or blasting, and refuse it if it does.",
    "US beryllium standard, from an occupational-safety page; US trade release of 23 April 2002 on dental "
    "technicians",
    ("oxidise",),
)


def cautions_for(core_material: CoreMaterial, powders: tuple[Powder, ...] = ()) -> tuple[Caution, ...]:
    """The precautions for one crown, the ones about its own materials first."""
    own = [
        Caution("expansion", words, source, ("main",))
        for words, source in expansion_words(core_material, powders)
    ]
    if core_material.beryllium == "not stated" and core_material.kind == "metal":
        own.append(_BERYLLIUM)
    return (*own, *(usual.caution for usual in _USUAL if usual.applies(core_material)))


def step_cautions(cautions: tuple[Caution, ...], bake: str, *, first: bool) -> tuple[str, ...]:
    """Sentences to show at one bake, each with its source in brackets."""
    return tuple(
        f"{c.sentence} ({c.source})" for c in cautions if bake in c.bakes or (first and FIRST in c.bakes)
    )
