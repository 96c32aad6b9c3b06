"""The optics tables of a card."""

import numpy as np

from firstbake.errors import BadCard
from firstbake.files.card_rules import (
    CORRELATION_KEY,
    DOUBT_KEYS,
    FIRST_NM,
    LAST_NM,
    MOST_STEP_NM,
    OPTICS_KEYS,
    PARAMETRIC_KEYS,
    REFLECTANCE_KEYS,
    SPECTRAL_KEYS,
    Rule,
)
from firstbake.files.card_table import CardTable, Floats
from firstbake.powder import Optics, parametric_optics

_INDEX = Rule("1", 1.2, 3.0)


def read_optics(table: CardTable) -> Optics:
    """The optics of a powder or core, from five numbers or from spectra.

    raises : BadCard, naming file, key and value, and what to do
    """
    table.only(OPTICS_KEYS)
    status, source = table.status(), table.text("source")
    index = table.bounded("index", _INDEX)
    spectral = [key for key in SPECTRAL_KEYS if key in table.content]
    parametric = [key for key in PARAMETRIC_KEYS if key in table.content]
    doubts = [key for key in (*DOUBT_KEYS, CORRELATION_KEY) if key in table.content]
    if doubts and not spectral:
        raise table.fault(doubts[0], "belongs to spectra; give wavelength_nm and both spectra with it")
    if spectral and parametric:
        raise table.fault(
            parametric[0],
            f"stands beside {spectral[0]}; give either the spectra or the five numbers, not both",
        )
    if spectral:
        return _spectral(table, index, status, source)
    s550, p, k0, kb, kg = (table.number(key) for key in PARAMETRIC_KEYS)
    try:
        return parametric_optics(s550, p, k0, kb, kg_per_mm=kg, index=index, status=status, source=source)
    except BadCard as error:
        raise BadCard(f"{table.file}: {error}; check [{table.where}]") from None


def read_reflectance(card: CardTable, kind: str) -> tuple[Floats | None, Floats | None, str, str]:
    """Wavelengths nm, reflectance 0 to 1, status and source of a bare metal; None for a core with optics.

    raises : BadCard, naming file, key and value, and what to do
    """
    if "reflectance" not in card.content:
        if "optics" not in card.content:
            word = "reflectance" if kind == "metal" else "optics"
            raise card.fault(
                word, f"is missing; a {kind} core needs [{word}] so that its colour can be worked out"
            )
        return None, None, "", ""
    table = card.table("reflectance")
    if kind != "metal":
        raise card.fault("reflectance", f"is for a metal; a {kind} core lets light through, give [optics]")
    table.only(REFLECTANCE_KEYS)
    nm, values = _wavelengths(table), table.numbers("reflectance")
    _same_length(table, "reflectance", values, nm)
    if values.min() < 0.0 or values.max() > 1.0:
        raise table.fault("reflectance", "must lie between 0 and 1; divide percentages by 100")
    return nm, values, table.status(), table.text("source")


def _spectral(table: CardTable, index: float, status: str, source: str) -> Optics:
    nm = _wavelengths(table)
    absorption, scattering = table.numbers("absorption_per_mm"), table.numbers("scattering_per_mm")
    for key, values in (("absorption_per_mm", absorption), ("scattering_per_mm", scattering)):
        _same_length(table, key, values, nm)
        if values.min() < 0.0:
            raise table.fault(
                key, f"holds {values.min():g} per mm; it cannot be less than 0, check the measurement"
            )
    return Optics(nm, absorption, scattering, index, status, source, *_doubts(table, nm))


def _doubts(table: CardTable, nm: Floats) -> tuple[Floats, Floats, Floats | None] | tuple[()]:
    """Standard deviations of absorption and scattering, both or neither, and how their errors go together."""
    given = [key for key in (*DOUBT_KEYS, CORRELATION_KEY) if key in table.content]
    if not given:
        return ()
    table.need(DOUBT_KEYS)
    absorption, scattering = table.numbers(DOUBT_KEYS[0]), table.numbers(DOUBT_KEYS[1])
    for key, values in zip(DOUBT_KEYS, (absorption, scattering), strict=True):
        _same_length(table, key, values, nm)
        if values.min() < 0.0:
            raise table.fault(key, f"holds {values.min():g} per mm; a doubt is never less than 0")
    if CORRELATION_KEY not in table.content:
        return absorption, scattering, None
    correlation = table.numbers(CORRELATION_KEY)
    _same_length(table, CORRELATION_KEY, correlation, nm)
    if np.abs(correlation).max() > 1.0:
        raise table.fault(CORRELATION_KEY, "must lie between -1 and 1")
    return absorption, scattering, correlation


def _wavelengths(table: CardTable) -> Floats:
    nm = table.numbers("wavelength_nm")
    if nm.size < 2 or not bool((nm[1:] > nm[:-1]).all()):
        raise table.fault("wavelength_nm", "must rise from each number to the next; sort the rows")
    if nm[0] > FIRST_NM or nm[-1] < LAST_NM:
        raise table.fault(
            "wavelength_nm",
            f"runs from {nm[0]:g} to {nm[-1]:g} nm; colour needs {FIRST_NM:g} to {LAST_NM:g} nm, add these",
        )
    widest = float((nm[1:] - nm[:-1]).max())
    if widest > MOST_STEP_NM:
        raise table.fault(
            "wavelength_nm", f"has a gap of {widest:g} nm; give at least one row every {MOST_STEP_NM:g} nm"
        )
    return nm


def _same_length(table: CardTable, key: str, values: Floats, nm: Floats) -> None:
    if values.size != nm.size:
        raise table.fault(key, f"has {values.size} numbers and wavelength_nm {nm.size}; give one for each")
