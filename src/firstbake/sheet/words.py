"""Words: numbers with units, colours by name, lists, as they stand on paper."""

from collections.abc import Sequence

import numpy as np

Lab = tuple[float, float, float]
NARROW = "\u202f"  # narrow no-break space between a number and its unit
MINUS = "\u2212"

# Names of tooth colours: our own bands, a choice of words and not a measurement. CIELAB, D65, 2°.
_LIGHTNESS = (
    (68.0, "dark"),
    (72.0, "rather dark"),
    (75.0, "medium light"),
    (78.0, "light"),
    (1e9, "very light"),
)
_CHROMA = ((6.0, "almost grey"), (12.0, "faint"), (18.0, "soft"), (24.0, "clear"), (1e9, "strong"))
_HUE = (
    (70.0, "red-orange"),
    (80.0, "orange-yellow"),
    (88.0, "warm yellow"),
    (95.0, "yellow"),
    (1e9, "green-yellow"),
)


def number(value: float, digits: int) -> str:
    """A number with so many decimals, a real minus sign, and no "minus nought"."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def with_unit(value: float, digits: int, unit: str) -> str:
    """ "0.35 mm" with a narrow space that doesn't break."""
    return f"{number(value, digits)}{NARROW}{unit}"


def minutes(seconds: float) -> str:
    """Seconds as a ceramist sets them: "45 s", "6 min", "1 min 30 s"."""
    whole, rest = divmod(round(seconds), 60)
    if whole == 0:
        return f"{rest}{NARROW}s"
    return f"{whole}{NARROW}min" + (f" {rest}{NARROW}s" if rest else "")


def listed(words: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def sentence(text: str) -> str:
    """The text with a capital at the start and a full stop at the end."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", ":", "?")) else ".") if text else ""


def colour_words(lab: Lab) -> str:
    """A tooth colour named: lightness, strength and hue, "light, soft warm yellow"."""
    lightness, a, b = lab
    chroma = float(np.hypot(a, b))
    hue = float(np.degrees(np.arctan2(b, a))) % 360
    light = _named(lightness, _LIGHTNESS)
    strength = _named(chroma, _CHROMA)
    if chroma < _CHROMA[0][0]:
        return f"{light}, {strength}"
    return f"{light}, {strength} {_named(hue, _HUE)}"


def _named(value: float, bands: tuple[tuple[float, str], ...]) -> str:
    return next(word for top, word in bands if value < top)


def lab_words(lab: Lab) -> str:
    """ "74.5 · 2.0 · 18.0"."""
    return f"{NARROW}·{NARROW}".join(number(value, 1) for value in lab)


def preview(lab: Lab) -> tuple[float, float, float]:
    """sRGB preview of a CIELAB colour (D65, 2°), 0 to 1 each, cut off at the edge of the gamut.

    CIE 15:2018 for Lab to XYZ, IEC 61966-2-1:1999 for XYZ to sRGB.
    """
    fy = (lab[0] + 16) / 116
    f = np.array([fy + lab[1] / 500, fy, fy - lab[2] / 200])
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * [0.95047, 1.0, 1.08883]
    turn = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
    linear = np.clip(np.array(turn) @ xyz, 0, 1)
    coded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    red, green, blue = (float(value) for value in coded)
    return red, green, blue
