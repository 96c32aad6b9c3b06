"""How instruments and people write the conditions of a measurement, brought to the words of this package."""

import re

from firstbake.colour import GEOMETRIES

_INCLUDED, _EXCLUDED, _OBLIQUE = GEOMETRIES
# Spellings met in exports of instruments (from memory, unverified): 45/0, 45:0, 45°a:0°, 0/45, 45°c/0°.
_45_0 = re.compile(r"\b(45\s*[°º]?\s*[acx]?\s*[:/]\s*0|0\s*[°º]?\s*[:/]\s*45)(?!\d)")
_SPHERE = re.compile(r"\bd[ie]?\s*[:/]\s*[08](?!\d)|sphere|diffuse")
_D8_INCLUDED = re.compile(r"\bdi\s*[:/]\s*8|\bsci\b|\bspin\b|specular[ _-]*incl|\bincluded\b|\brsin\b")
_D8_EXCLUDED = re.compile(r"\bde\s*[:/]\s*8|\bsce\b|\bspex\b|specular[ _-]*excl|\bexcluded\b|\brsex\b")
_LIGHT = re.compile(
    r"(?<![A-Za-z0-9])([Dd]50|[Dd]55|[Dd]65|[Dd]75|A|C|E|F2|F7|F11|F12|LED-B3)(?![A-Za-z0-9])"
)
_UV = re.compile(
    r"\b(?:uv|ultra-?\s?violet)\b[^,;/]*?\b(?:incl\w*|excl\w*|cut)\b"
    r"|\b(?:incl\w*|excl\w*|without|with|no)\s+(?:uv|ultra-?\s?violet)\b"
)
_NOT = r"\b(?:not|non|never)[\s-]+"
_OBSERVER = re.compile(r"(?<![A-Za-z\d.,])(10|2)(?:\s|_|-|°|º|deg|$)", re.IGNORECASE)
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?")


def geometry_from_words(text: str) -> str | None:
    """One of colour.GEOMETRIES, or None where the words do not settle it.

    text : as a file writes it, such as "45°a:0°", "d/8 SCE", "di:8". A word on ultraviolet is none on gloss.
           Light and eye may change places (the reversibility of light), so 0/45 counts as 45/0. A d/8
           without a word on the specular part is None.
    """
    words = _UV.sub(" ", text.lower())
    words = re.sub(_NOT + r"(in|ex)cluded", lambda m: "excluded" if m[1] == "in" else "included", words)
    oblique, sphere = bool(_45_0.search(words)), bool(_SPHERE.search(words))
    included, excluded = bool(_D8_INCLUDED.search(words)), bool(_D8_EXCLUDED.search(words))
    if oblique:
        return None if sphere or included else _OBLIQUE
    if included == excluded:
        return None
    return _INCLUDED if included else _EXCLUDED


def light_from_words(text: str) -> str:
    """ "D65" from "Illuminant D65, 2 degrees"; "" where no known light, or more than one, is named."""
    found = {match.upper() for match in _LIGHT.findall(text)}
    return found.pop() if len(found) == 1 else ""


def observer_from_words(text: str) -> str:
    """ "2" or "10" from "2_Degree", "10°" or "CIE 1931"; "" where it is not said or said twice."""
    found = set(_OBSERVER.findall(text))
    found |= {"2"} if "1931" in text else set()
    found |= {"10"} if "1964" in text else set()
    return found.pop() if len(found) == 1 else ""


def contact_from_words(text: str) -> str:
    """ "optical contact", "air gap" or "", also where the words deny one of them without naming the other."""
    words = re.sub(r"\b(?:no|without)\s+(?:air\s+)?bubbles?\b", " ", text.lower())
    words, apart = re.subn(r"\b(?:no|not in|without)\s+(?:optical\s+)?contact\b", " ", words)
    denied = bool(re.search(r"\b(?:no|not|non|without)\b", words))
    air = bool(re.search(r"\bair\b|\bgap\b|\bdry\b", words))
    wet = bool(
        re.search(r"\boptical|\bfluid|\bliquid|\bgels?\b|\bglycerin|\boils?\b|\bwet\b|\bimmersion", words)
    )
    if apart:
        return "" if wet and not denied else "air gap"
    return "" if denied or air == wet else "air gap" if air else "optical contact"


def millimetres_from_words(text: str) -> float | None:
    """1.0 from "1.0 mm", "1,0" or "1000 um"; None where there is no single number or another unit."""
    numbers = _NUMBER.findall(text)
    if len(numbers) != 1:
        return None
    value = float(numbers[0].replace(",", "."))
    unit = _NUMBER.sub("", text).strip().lower()
    scale = {"": 1.0, "mm": 1.0, "um": 1e-3, "µm": 1e-3, "μm": 1e-3, "cm": 10.0}.get(unit)
    return None if scale is None or value <= 0 else value * scale
