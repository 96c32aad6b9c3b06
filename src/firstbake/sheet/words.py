"""Words: numbers with units and lists, as they stand on paper."""

from collections.abc import Sequence

Lab = tuple[float, float, float]
NARROW = "\u202f"  # narrow no-break space between a number and its unit
MINUS = "\u2212"


def number(value: float, digits: int) -> str:
    """A number with so many decimals, a real minus sign, and no "minus nought"."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def with_unit(value: float, digits: int, unit: str) -> str:
    """ "0.35 mm" with a narrow space that doesn't break."""
    return f"{number(value, digits)}{NARROW}{unit}"


def bench_mm(value: float) -> str:
    """A length to the nearest 0.05 mm, which a bench calliper reads (common practice)."""
    return number(round(value / 0.05) * 0.05, 2)


def bench_doubt(value_mm: float) -> str:
    """A doubt to the nearest 0.05 mm, at least 0.1 (the bench reading alone has that)."""
    return number(max(0.1, round(value_mm / 0.05) * 0.05), 2).removesuffix("0")


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


def lab_words(lab: Lab) -> str:
    """ "74.5 · 2.0 · 18.0"."""
    return f"{NARROW}·{NARROW}".join(number(value, 1) for value in lab)
