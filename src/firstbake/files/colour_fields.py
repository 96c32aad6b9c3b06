"""Field names and keywords of colour files, and the readings they make."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from firstbake.errors import BadInput
from firstbake.target import (
    Reading,
    checked,
    contact_from_words,
    geometry_from_words,
    in_percent,
    light_from_words,
    millimetres_from_words,
    observer_from_words,
)

# Our word -> spellings, lower case without blanks, dashes and underscores (the standards' and usual ones,
# from memory, unverified).
_SPELLINGS: dict[str, tuple[str, ...]] = {
    "name": ("name", "sample", "samplename", "sampleid", "id", "zone", "label", "tab", "patch"),
    "geometry": ("geometry", "measurementgeometry", "measgeometry", "mgeometry"),
    "specular": ("specular", "specularmode", "specularcomponent"),
    "light": ("illuminant", "light", "weightingfunction", "measurementsource", "illuminantobserver"),
    "observer": ("observer", "observerangle"),
    "backing": ("backing", "samplebacking", "background"),
    "contact": ("contact", "samplecontact", "coupling"),
    "thickness": ("thickness", "thicknessmm", "samplethickness"),
    "aperture": ("aperture", "measurementaperture", "aperturemm"),
    "instrument": ("instrument", "instrumentation", "device", "instrumentserialnumber"),
    "date": ("date", "created", "measurementdate", "creationdate"),
    "averaging": ("averaging", "average", "measurements", "numberofmeasurements", "numberofreadings"),
    "doubt": ("doubtdeltae00", "doubtde00"),
    "unit": ("unit", "scale", "reflectanceunit", "values"),
}
_WORD_OF = {spelling: word for word, spellings in _SPELLINGS.items() for spelling in spellings}
_WAVELENGTH = re.compile(
    r"^(?:(?:spectral|spec|nm|pct|dec|refl|reflectance|r)[_ ]*)*(\d{3,4}(?:[.,]\d+)?)\s*(?:nm)?$",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"^[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?$")
_LAB = re.compile(r"^(?:cie|lab)?[_ -]*(?:lab[_ -]*)?([lab])\*?$", re.IGNORECASE)
LEAST_NM, MOST_NM = 200.0, 2500.0


def known_word(text: str) -> str:
    """Our word for a keyword or column name, "" for one that is not known."""
    return _WORD_OF.get(re.sub(r"[\s_\-:.()]", "", text.lower()), "")


def wavelength_of(text: str) -> float | None:
    """400.0 from "400", "400 nm", "nm400", "SPECTRAL_NM400", "SPEC_400" or "R400"; None from other text."""
    match = _WAVELENGTH.match(text.strip())
    if match is None:
        return None
    nm = float(match[1].replace(",", "."))
    return nm if LEAST_NM <= nm <= MOST_NM else None


def lab_axis_of(text: str) -> str:
    """ "l", "a" or "b" from "L*", "LAB_A", "CIE b*"; "" from other text."""
    match = _LAB.match(text.strip())
    return match[1].lower() if match else ""


def unit_of(text: str) -> str:
    """ "percent", "fraction" or "" from a unit or a column's name."""
    words = text.lower()
    percent = "%" in words or "percent" in words or "pct" in words
    fraction = bool(re.search(r"fraction|\bdec\b|decimal|spectral_dec|0\s*(?:\.\.|-|to)\s*1\b", words))
    return "" if percent == fraction else "percent" if percent else "fraction"


@dataclass
class Numbers:
    """Turns cells of one file into numbers, holding it to one decimal mark.

    what : the file, for error sentences
    """

    what: str
    mark: str = ""

    def number(self, text: str, place: str) -> float:
        """The number in a cell. raises : BadInput naming the place"""
        cell = text.strip()
        if not _NUMBER.match(cell):
            shown = cell if len(cell) <= 30 else cell[:27] + "..."
            raise BadInput(f'{self.what}, {place}: "{shown}" is not a number; mend that value')
        mark = "," if "," in cell else "." if "." in cell else ""
        if mark and self.mark and mark != self.mark:
            raise BadInput(
                f"{self.what}, {place}: decimals are written with a comma in one place and with a point in "
                "another; write all with the same mark"
            )
        self.mark = self.mark or mark
        value = float(cell.replace(",", "."))
        if not np.isfinite(value):
            raise BadInput(f'{self.what}, {place}: "{cell}" is too large a number; mend that value')
        return value


@dataclass
class Sample:
    """One sample of a table before it becomes a reading.

    nm, values : wavelengths, and the numbers as written      lab : as written, or None
    said       : our word -> the file's words for this sample
    """

    nm: Sequence[float] = ()
    values: Sequence[float] = ()
    lab: tuple[float, float, float] | None = None
    said: dict[str, str] = field(default_factory=dict)


def readings_of(
    samples: Sequence[Sample], *, file: str, digest: str, notes: Sequence[str] = ()
) -> tuple[Reading, ...]:
    """Readings from the samples of one table.

    notes  : what was decided in reading the table        raises : BadInput, BadCard
    """
    scales: dict[str, tuple[float, str]] = {}
    for unit in {unit_of(s.said.get("unit", "")) for s in samples if s.nm}:
        same = [s.values for s in samples if s.nm and unit_of(s.said.get("unit", "")) == unit]
        percent, how = in_percent(same, stated=unit, what=file)
        scales[unit] = (100.0 if percent else 1.0, how)
    return tuple(_reading(s, scales, file=file, digest=digest, notes=notes) for s in samples)


def _reading(
    sample: Sample,
    scales: Mapping[str, tuple[float, str]],
    *,
    file: str,
    digest: str,
    notes: Sequence[str],
) -> Reading:
    said, told = sample.said, list(notes)
    nm = np.array(sample.nm, dtype=np.float64)
    order = np.argsort(nm, kind="stable")
    reflectance = None
    if sample.nm:
        whole, how = scales[unit_of(said.get("unit", ""))]
        reflectance = np.array(sample.values, dtype=np.float64)[order] / whole
        told.append(how)
        if (np.diff(nm) < 0).any():
            told.append("the wavelengths do not rise in the file; they were put in order")
    thickness = millimetres_from_words(said.get("thickness", ""))
    told.extend(_unsettled(said, thickness))
    reading = Reading(
        name=said.get("name", "").strip(),
        wavelength_nm=nm[order] if sample.nm else None,
        reflectance=reflectance,
        lab=sample.lab,
        illuminant=light_from_words(said.get("light", "")),
        observer=observer_from_words(said.get("observer", said.get("light", ""))),
        geometry=geometry_from_words(_geometry_words(said)),
        backing=said.get("backing", ""),
        contact=contact_from_words(said.get("contact", "")),
        thickness_mm=thickness,
        aperture=said.get("aperture", ""),
        instrument=said.get("instrument", ""),
        date=said.get("date", ""),
        averaging=said.get("averaging", ""),
        file=file,
        digest=digest,
        doubt_delta_e00=_doubt(said, file),
        notes=tuple(dict.fromkeys(told)),
    )
    return checked(reading)


def _doubt(said: Mapping[str, str], file: str) -> float:
    words = said.get("doubt", "").strip()
    return Numbers(file).number(words, "doubt_delta_e00") if words else 0.0


def _geometry_words(said: Mapping[str, str]) -> str:
    return f"{said.get('geometry', '')} {_specular(said)}".strip()


def _specular(said: Mapping[str, str]) -> str:
    words = said.get("specular", "")
    return f"specular {words}" if words and "45" not in said.get("geometry", "") else ""


def _unsettled(said: Mapping[str, str], thickness_mm: float | None) -> list[str]:
    """What the file says that could not be used."""
    told = []
    words = _geometry_words(said)
    if not words:
        told.append("the file does not say its geometry")
    elif geometry_from_words(words) is None:
        told.append(f'the geometry "{words}" does not settle between 45/0 and d/8 with or without specular')
    if said.get("thickness") and thickness_mm is None:
        told.append(f'the thickness "{said["thickness"]}" is no length in mm and was left out')
    if said.get("contact") and not contact_from_words(said["contact"]):
        told.append(f'the contact "{said["contact"]}" is neither optical contact nor an air gap')
    return told
