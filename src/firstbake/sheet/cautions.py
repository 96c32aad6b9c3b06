"""Cautions: one line each, at the step where they matter and all together at the foot.

All are common practice of the trade ("usual precaution"); the dust limit is a published figure.
"""

from firstbake.powder import CoreMaterial

DUST = "Grind wet or with suction; eye shield (usual precaution)."
POWDER = "Silica dust: never blow or dry-sweep, wipe wet (50 µg/m³ over 8 h, US 29 CFR 1910.1053)."
HOT = "Hot work looks cold: tongs, face away from the muffle (usual precaution)."
WET = "Nothing wet into a hot furnace (usual precaution)."
CLEAN = "Work back from the mouth is infectious until disinfected (usual precaution)."
ACID = "Hydrofluoric acid burns deep and late: hood, gloves, shield, calcium gluconate gel at hand."
METAL = "Alloy with beryllium is refused; nickel only when the order says no allergy (usual precaution)."
TOOL = "No steel on the slab: it sheds grey metal (usual precaution)."


def core_caution(core: CoreMaterial) -> str:
    """The caution for preparing a core of this kind."""
    if core.kind == "metal":
        return METAL
    return ACID if core.kind == "glass-ceramic" else DUST


def all_cautions(core: CoreMaterial, firing: tuple[str, ...]) -> tuple[str, ...]:
    """Every caution once, in working order: core, slab, furnace, programmes' own, grinding, dispatch."""
    lines = (core_caution(core), POWDER, TOOL, WET, HOT, *firing, DUST, CLEAN)
    return tuple(dict.fromkeys(lines))
