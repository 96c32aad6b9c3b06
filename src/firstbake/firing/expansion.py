"""Whether core and powders belong together by their thermal expansion."""

from firstbake.powder import CoreMaterial, Powder

# Core minus veneer, ppm/K. On metal: no cracks from -0.9 to +1.0, crazing below -1.7, corners burst above
# +1.5 (published as veneer minus metal: +0.9 to -1.0, +1.7, -1.5).
_METAL_SAFE = (-0.9, 1.0)
_METAL_STOP = (-1.7, 1.5)
_METAL_SOURCE = "Zhonghua Kou Qiang Yi Xue Za Zhi 1991;26:329, PMID 1820237"
_CERAMIC_SAFE = (0.0, 1.0)
_CERAMIC_STOP = (0.0, 1.5)
_CERAMIC_SOURCE = "common practice: core 0.5 to 1.0 ppm/K above the veneer"


def expansion_words(core: CoreMaterial, powders: tuple[Powder, ...]) -> list[tuple[str, str]]:
    """A sentence and its source for every powder whose expansion does not suit the core.

    Expansions come from the cards ("expansion_ppm_per_K"); a card without one gives no sentence.
    """
    found = core.thermal.get("expansion_ppm_per_K")
    if found is None:
        return []
    metal = core.kind == "metal"
    safe, stop = (_METAL_SAFE, _METAL_STOP) if metal else (_CERAMIC_SAFE, _CERAMIC_STOP)
    source = _METAL_SOURCE if metal else _CERAMIC_SOURCE
    words: list[tuple[str, str]] = []
    for powder in powders:
        own = powder.thermal.get("expansion_ppm_per_K")
        if own is None:
            continue
        gap = round(found.value - own.value, 6)
        if safe[0] <= gap <= safe[1]:
            continue
        sizes = f"{powder.name} expands {own.value:g} ppm/K and {core.name} {found.value:g}"
        if stop[0] <= gap <= stop[1]:
            words.append((f"{sizes}: near the limit, cracks are possible; ask both makers.", source))
        else:
            words.append(
                (f"{sizes}: they do not belong together, expect cracks; choose another pair.", source)
            )
    return words
