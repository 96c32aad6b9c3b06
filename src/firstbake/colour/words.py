"""Colours and colour differences in plain words."""

from collections.abc import Mapping

import numpy as np

from firstbake.colour.difference import ACCEPTABLE_DELTA_E00, PERCEPTIBLE_DELTA_E00, delta_e00
from firstbake.colour.zone import Lab

# Limits of the names: this project's own division of CIELAB, nothing measured stands behind it.
_LIGHTNESS = ((88.0, "very light"), (78.0, "light"), (64.0, ""), (42.0, "medium"), (22.0, "dark"))
_GREYS = (
    (93.0, "white"),
    (80.0, "very light grey"),
    (64.0, "light grey"),
    (42.0, "grey"),
    (18.0, "dark grey"),
)
_HUES = (
    (20.0, "pink", "pinkish"),
    (50.0, "red", "reddish"),
    (70.0, "orange", "peach"),
    (84.0, "warm yellow", "warm"),
    (98.0, "yellow", "yellowish"),
    (125.0, "greenish yellow", "greenish"),
    (175.0, "green", "greenish"),
    (225.0, "turquoise", "bluish green"),
    (285.0, "blue", "bluish"),
    (330.0, "violet", "violet"),
    (360.1, "pink", "pinkish"),
)
_GREY_CHROMA = 2.5
_TINTED_CHROMA = 11.0
_FULL_CHROMA = 20.0
_STRONG_CHROMA = 27.0
_TOOTH_HUES = (50.0, 110.0)

# A part of the difference is named when it makes up this share of the largest part.
_NAMED_SHARE = 0.45
_MUCH_DELTA_E00 = 4.0
_LIGHTS = {"A": "in lamp light", "F11": "under tubes"}


def name_of(lab: Lab) -> str:
    """A colour in plain words, "warm ivory", "pale yellowish grey".

    lab : CIELAB, D65, 2 degree observer
    The names divide CIELAB by lightness, chroma and hue; they are this project's own and no standard.
    """
    lightness, a, b = (float(v) for v in lab)
    chroma = float(np.hypot(a, b))
    hue = float(np.degrees(np.arctan2(b, a))) % 360.0
    if lightness < 10.0:
        return "black"
    if chroma < _GREY_CHROMA:
        return _step(_GREYS, lightness, "very dark grey")
    strong, tint = next((full, weak) for limit, full, weak in _HUES if hue < limit)
    if chroma < _TINTED_CHROMA:
        pale = "pale " if 64.0 <= lightness < 88.0 and chroma >= _GREY_CHROMA else ""
        grey = "white" if lightness >= 88.0 else _step(_GREYS, min(lightness, 63.9), "very dark grey")
        return f"{pale}{tint} {grey}"
    depth = _step(_LIGHTNESS, lightness, "very dark")
    if _TOOTH_HUES[0] <= hue < _TOOTH_HUES[1]:
        return _joined(depth, _tooth_noun(lightness, chroma, hue))
    return _joined(depth or "light", strong)


def _tooth_noun(lightness: float, chroma: float, hue: float) -> str:
    """Names between orange and greenish yellow, where teeth and stumps lie."""
    side = "warm" if hue < 84.0 else ("" if hue < 98.0 else "greenish")
    if lightness < 64.0:
        return _joined("reddish" if hue < 64.0 else "", "brown")
    if chroma < _FULL_CHROMA:
        return _joined(side, "ivory")
    if chroma < _STRONG_CHROMA:
        return _joined(side, "cream" if lightness >= 78.0 else "straw")
    return _joined(side, "yellow" if lightness >= 78.0 else "honey")


def _step(steps: tuple[tuple[float, str], ...], value: float, below: str) -> str:
    return next((word for limit, word in steps if value >= limit), below)


def _joined(*words: str) -> str:
    return " ".join(word for word in words if word)


def difference_in_words(lab: Lab, target: Lab | None) -> str:
    """How the colour differs from the wanted one, the heaviest part first.

    lab, target : CIELAB, D65, 2 degree observer; None when the order gives no target
    example     : "a little less red and yellow than wanted, above all less red"
    """
    if target is None:
        return "no colour was ordered for this zone"
    whole = float(delta_e00(lab, target))
    if whole < PERCEPTIBLE_DELTA_E00:
        return "as wanted, as far as most eyes can tell"
    size = "a little " if whole < ACCEPTABLE_DELTA_E00 else ("much " if whole >= _MUCH_DELTA_E00 else "")
    parts = _parts(lab, target)
    largest = max(weight for weight, _, _ in parts)
    named = [(sign, axis) for weight, sign, axis in parts if weight >= _NAMED_SHARE * largest]
    heavy = parts[0][0] > 1.6 * parts[1][0] and len(named) > 1
    return f"{size}{_listed(named)} than wanted" + (f", above all {_alone(named[0])}" if heavy else "")


def metamerism_in_words(moved: Mapping[str, float]) -> str:
    """How far a match moves under other lights, one sentence; "" where nothing is known.

    moved   : light -> special metamerism index, CIEDE2000; lamp light (A) and shop tubes (F11) are told
    example : "the match moves by 0.4 in lamp light (A): most eyes see none of it"
    """
    told = [f"{moved[light]:.1f} {where} ({light})" for light, where in _LIGHTS.items() if light in moved]
    if not told:
        return ""
    most = max(moved[light] for light in _LIGHTS if light in moved)
    if most < PERCEPTIBLE_DELTA_E00:
        judged = "most eyes see none of it"
    elif most < ACCEPTABLE_DELTA_E00:
        judged = "many eyes see it"
    else:
        judged = "look at it in that light before the glaze"
    return f"the match moves by {' and '.join(told)}: {judged}"


def _parts(lab: Lab, target: Lab) -> list[tuple[float, int, str]]:
    """(share of the difference, sign, axis) for lightness, red and yellow, heaviest first."""
    wanted = np.asarray(target, dtype=np.float64)
    step = np.asarray(lab, dtype=np.float64) - wanted
    each = delta_e00(wanted + np.diag(step), wanted)
    axes = ("light", "red", "yellow")
    found = [(float(each[k]), 1 if step[k] > 0 else -1, axes[k]) for k in range(3)]
    return sorted(found, key=lambda part: -part[0])


def _listed(named: list[tuple[int, str]]) -> str:
    """Joined with the same direction said once: "less red and yellow", "darker and more yellow"."""
    told: dict[str, list[str]] = {}
    for sign, axis in named:
        word, _, rest = _alone((sign, axis)).partition(" ")
        told.setdefault(word, []).extend([rest] if rest else [])
    parts = [_joined(word, " and ".join(axes)) for word, axes in told.items()]
    return ", ".join(parts[:-1]) + (" and " if len(parts) > 1 else "") + parts[-1]


def _alone(part: tuple[int, str]) -> str:
    sign, axis = part
    if axis == "light":
        return "lighter" if sign > 0 else "darker"
    return f"{'more' if sign > 0 else 'less'} {axis}"
