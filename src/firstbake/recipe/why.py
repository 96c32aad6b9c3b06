"""Why a zone misses its target: solved again with one limit after the other lifted."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from firstbake.colour import (
    PERCEPTIBLE_DELTA_E00,
    LowerEnd,
    on_grid,
    thick_reflectance,
)
from firstbake.recipe.answer import Limit
from firstbake.recipe.asked import Asked, Lab, PowderSet
from firstbake.recipe.search import ZoneFit, search

#: A limit counts when lifting it reaches the target or brings it this much nearer (chosen here).
WORTH_DELTA_E00 = 0.3
#: More room is looked for in these steps, mm; more than the last is another preparation.
MORE_ROOM_MM = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6)
_STAIN_LIGHTNESS = 1.0
_STAIN_CHROMA = 0.5


def limits_of(
    fit: ZoneFit, sets: Sequence[PowderSet], *, geometry: str, zone: str
) -> tuple[tuple[Limit, ...], tuple[str, ...]]:
    """What limits this zone, and what can be done.

    fit    : the zone as it stands, not reached      sets : all sets that may be tried
    zone   : its name in words, "neck"
    method : more room with the same powders, an ordinary stump, a core of the dentine's own colour, any set
             of powders for this zone alone, the target's lightness or chroma given up
    """
    found: list[Limit] = []
    choices: list[str] = []
    for limit, choice in (
        *_room(fit, geometry=geometry),
        *_powders(fit, sets, geometry=geometry),
        *_ground(fit, geometry=geometry),
        *_target(fit, geometry=geometry, zone=zone),
    ):
        found.append(limit)
        choices.extend([choice] if choice else [])
    stain = _stain(fit)
    choices[-1:-1] = [stain] if stain else []
    if not any(choice.startswith("Ask") for choice in choices):
        choices.append(f"Ask the dentist whether the {zone} may look {_missed(fit.lab, fit.asked.target)}.")
    return tuple(found), tuple(choices)


def nearest_of(asked: Asked, sets: Sequence[PowderSet], *, geometry: str) -> ZoneFit | None:
    """The fit of the set that comes nearest in this zone alone; None where none fits the room."""
    found = search((asked,), sets, geometry=geometry)
    return min((r.zones[0] for r in found), key=lambda fit: fit.nearest_delta_e00, default=None)


def _worth(fit: ZoneFit, other: ZoneFit | None) -> bool:
    if other is None:
        return False
    gain = fit.nearest_delta_e00 - other.nearest_delta_e00
    return gain >= WORTH_DELTA_E00 or (gain > 0 and other.nearest_delta_e00 <= PERCEPTIBLE_DELTA_E00)


def _room(fit: ZoneFit, *, geometry: str) -> Iterator[tuple[Limit, str]]:
    """The least more room that reaches the target, else the most useful."""
    best: tuple[float, ZoneFit] | None = None
    for more in MORE_ROOM_MM:
        wider = replace(fit.asked, room_mm=round(fit.asked.room_mm + more, 6))
        other = nearest_of(wider, (fit.powders,), geometry=geometry)
        if other is None:
            continue
        if best is None or other.nearest_delta_e00 < best[1].nearest_delta_e00 - 0.05:
            best = (more, other)
        if other.nearest_delta_e00 <= PERCEPTIBLE_DELTA_E00:
            break
    if best is None or not _worth(fit, best[1]):
        return
    more, other = best
    told = f"ΔE00 {other.nearest_delta_e00:.1f}"
    yield (
        Limit("room", other.nearest_delta_e00, f"{more:.1f} mm more room would bring it to {told}."),
        f"{more:.1f} mm more room here ({told}): a thinner core where its card allows it, a fuller contour, "
        "or more reduction.",
    )


def _powders(fit: ZoneFit, sets: Sequence[PowderSet], *, geometry: str) -> Iterator[tuple[Limit, str]]:
    other = nearest_of(fit.asked, sets, geometry=geometry)
    if other is None or not _worth(fit, other):
        yield from ()
        return
    new = [name for name in other.powders.names if name not in fit.powders.names]
    told = f"{_and(new) or _and(list(other.powders.names))} (ΔE00 {other.nearest_delta_e00:.1f})"
    yield (
        Limit("powders", other.nearest_delta_e00, f"Other powders would do better here alone: {told}."),
        f"Another powder for this zone: {told}.",
    )


def _ground(fit: ZoneFit, *, geometry: str) -> Iterator[tuple[Limit, str]]:
    asked = fit.asked
    if asked.ordinary is not None:
        plain = replace(asked, end=asked.ordinary, ordinary=None)
        other = nearest_of(plain, (fit.powders,), geometry=geometry)
        if other is not None and _worth(fit, other):
            told = f"ΔE00 {other.nearest_delta_e00:.1f}"
            yield (
                Limit("stump", other.nearest_delta_e00, f"Over an ordinary stump it would reach {told}."),
                f"A less translucent core or an opaque cement over this stump (at best {told}); "
                "ask the maker of the core.",
            )
            return
    dentine = fit.powders.of("dentine")
    if asked.free or dentine is None:
        return
    own = replace(asked, end=_of_body(dentine.optics.index, fit), ordinary=None)
    other = nearest_of(own, (fit.powders,), geometry=geometry)
    if other is not None and _worth(fit, other):
        told = f"ΔE00 {other.nearest_delta_e00:.1f}"
        yield (
            Limit(
                "core", other.nearest_delta_e00, f"The core shows; over one of the dentine's colour {told}."
            ),
            f"A core nearer to the dentine's colour ({told}).",
        )


def _of_body(index: float, fit: ZoneFit) -> LowerEnd:
    """A ground without a face that looks like the dentine without end."""
    dentine = fit.powders.of("dentine")
    optics = dentine.optics if dentine is not None else fit.powders.ingredients[0].optics
    absorption = on_grid(optics.wavelength_nm, optics.absorption_per_mm, what="absorption")
    scattering = on_grid(optics.wavelength_nm, optics.scattering_per_mm, what="scattering")
    return LowerEnd(thick_reflectance(absorption, scattering), index)


def _target(fit: ZoneFit, *, geometry: str, zone: str) -> Iterator[tuple[Limit, str]]:
    """Lightness and chroma of the target given up, one at a time."""
    lightness, a, b = fit.asked.target
    own, wanted = float(np.hypot(*fit.lab[1:])), float(np.hypot(a, b))
    factor = own / max(wanted, 1e-6)
    for what, target in (
        ("lightness", (fit.lab[0], a, b)),
        ("chroma", (lightness, a * factor, b * factor)),
    ):
        asked = replace(fit.asked, target=target)
        other = nearest_of(asked, (fit.powders,), geometry=geometry)
        if other is None or not _worth(fit, other):
            continue
        more = _more(what, fit.lab, fit.asked.target)
        told = f"ΔE00 {other.nearest_delta_e00:.1f}"
        yield (
            Limit(
                what,
                other.nearest_delta_e00,
                f"{what.capitalize()} is what these powders miss: {told} without it.",
            ),
            f"Ask the dentist whether the {zone} may be {more}.",
        )


def _more(what: str, lab: Lab, target: Lab) -> str:
    if what == "lightness":
        return f"{'lighter' if lab[0] > target[0] else 'darker'} (L* {lab[0]:.0f} for {target[0]:.0f})"
    own, wanted = np.hypot(*lab[1:]), np.hypot(*target[1:])
    return f"{'stronger' if own > wanted else 'paler'} in colour (C* {own:.0f} for {wanted:.0f})"


def _missed(lab: Lab, target: Lab) -> str:
    parts = []
    if abs(lab[0] - target[0]) > 0.5:
        parts.append("lighter" if lab[0] > target[0] else "darker")
    own, wanted = np.hypot(*lab[1:]), np.hypot(*target[1:])
    if abs(own - wanted) > 0.5:
        parts.append("stronger in colour" if own > wanted else "paler")
    return _and(parts) or "a little different"


def _stain(fit: ZoneFit) -> str:
    """Stain takes light away and adds colour; it never makes a crown lighter or paler."""
    lab, target = fit.lab, fit.asked.target
    darker = lab[0] - target[0]
    richer = float(np.hypot(target[1], target[2]) - np.hypot(lab[1], lab[2]))
    if darker < -_STAIN_LIGHTNESS or richer < -_STAIN_CHROMA:
        return ""
    kinds = [word for word, amount in (("chroma", richer), ("grey", darker)) if amount > _STAIN_CHROMA]
    return f"{_and(kinds).capitalize() or 'A little'} stain at the glaze bake; it sits on the surface."


def _and(words: list[str]) -> str:
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))
