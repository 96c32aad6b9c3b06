"""The top temperature of each bake and where it comes from."""

from dataclasses import dataclass, replace

from firstbake.firing.usual import (
    CORRECTION_BELOW_K,
    GLAZE_BELOW_K,
    MEMORY,
    PRACTICE,
    USUAL_BAKES,
    WASH_ABOVE_K,
    UsualBake,
)
from firstbake.powder import CoreMaterial, Powder

_BODY = ("dentine", "opaque-dentine", "enamel", "transparent")
_REST = "drying, climb, hold: common practice"


@dataclass(frozen=True)
class Peak:
    """Top temperature with its range, the climb to it, status and source as in powder.Figure."""

    degC: float
    low_degC: float
    high_degC: float
    climb_K_per_min: float
    status: str
    source: str


def powder_peak(core: CoreMaterial, powders: tuple[Powder, ...], bake: str) -> Peak:
    """Peak of a bake of powder: the hottest first_bake_degC on the cards it fires, else what is usual.

    bake : "liner", "opaque", "margin" or "main"; the main bake goes by the dentine, without one by the rest
    """
    usual = USUAL_BAKES[core.kind][bake]
    wanted = _BODY if bake == "main" else (bake,)
    for role in wanted:
        named = [
            (p.thermal["first_bake_degC"], p.name)
            for p in powders
            if p.role == role and "first_bake_degC" in p.thermal
        ]
        if named:
            figure, name = max(named, key=lambda pair: pair[0].value)
            low = figure.value if figure.low is None else figure.low
            high = figure.value if figure.high is None else figure.high
            source = f"peak from card {name}; {_REST}"
            return Peak(figure.value, low, high, usual.climb_K_per_min, figure.status, source)
    return _from_usual(usual, f"usual on {core.kind}")


def oxidise_peak() -> Peak:
    """Peak of oxidising a bare alloy."""
    return _from_usual(USUAL_BAKES["metal"]["oxidise"], "usual for alloys; the alloy's maker decides")


def wash_peak(opaque: Peak) -> Peak:
    """Peak of the wash: a little hotter than the opaque, to wet the metal."""
    degC = opaque.degC + WASH_ABOVE_K
    return replace(
        opaque,
        degC=degC,
        high_degC=max(opaque.high_degC, degC),
        source=f"{WASH_ABOVE_K:g} K over the opaque bake ({opaque.source})",
    )


def correction_peak(main: Peak) -> Peak:
    """Peak of a correction bake: 5 to 20 K under the main bake."""
    return _below(main, CORRECTION_BELOW_K)


def glaze_peak(main: Peak) -> Peak:
    """Peak of the glaze: under the correction, at most 40 K under the main bake."""
    return _below(main, GLAZE_BELOW_K)


def unlike_words(powders: tuple[Powder, ...], main: Peak) -> tuple[str, ...]:
    """A sentence for every body powder whose own first bake lies outside the range of the main bake."""
    return tuple(
        f"{p.name} asks for {p.thermal['first_bake_degC'].value:g} °C, outside {main.low_degC:g} to "
        f"{main.high_degC:g} °C of this bake: powders of one bake must suit one peak, choose another."
        for p in powders
        if p.role in _BODY
        and "first_bake_degC" in p.thermal
        and not main.low_degC <= p.thermal["first_bake_degC"].value <= main.high_degC
    )


def _below(main: Peak, below_K: tuple[float, float, float]) -> Peak:
    usual, most, least = below_K
    return Peak(
        main.degC - usual,
        main.degC - most,
        main.degC - least,
        main.climb_K_per_min,
        PRACTICE,
        f"{usual:g} K under the main bake; {_REST}",
    )


def _from_usual(usual: UsualBake, where: str) -> Peak:
    source = f"{where}, {usual.status}" if usual.status == MEMORY else f"{where}, no published source"
    return Peak(usual.peak_degC, usual.low_degC, usual.high_degC, usual.climb_K_per_min, usual.status, source)
