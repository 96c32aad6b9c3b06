"""The colours of [target]: three numbers each, or a file to read them from."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from firstbake.case import Target
from firstbake.errors import BadCase, BadInput
from firstbake.files.case_schema import TargetTable
from firstbake.files.colour_file import read_colours
from firstbake.target import Reading, compared_as, stated_as

ZONES = ("cervical", "body", "incisal", "stump")
USUAL_GEOMETRY = "45/0"  # commonest in dental instruments (common practice)


@dataclass(frozen=True)
class MeshNote:
    """One repair of a mesh, or what was found or decided in reading any file of the case, in a sentence."""

    file: str
    sentence: str


def target_of(table: TargetTable, case: Path, *, inputs: dict[str, str], notes: list[MeshNote]) -> Target:
    """The wanted colours, all in one geometry.

    table : as written       case : the case file, whose folder relative names start from
    inputs, notes : gain the digests of the files and what was decided in reading them
    raises : BadCase naming the key and the file: no such file or colour, both a file and three numbers, a
             reading that cannot be compared
    """
    readings: dict[str, Reading] = {}
    for zone in ZONES:
        name: str | None = getattr(table, f"{zone}_file")
        if name is None:
            continue
        if getattr(table, zone) is not None:
            raise BadCase(f'{case}: "target.{zone}" and "target.{zone}_file" are both given; leave one out')
        readings[zone] = _reading(zone, name, case)
        inputs[name.partition("#")[0]] = readings[zone].digest
        notes.extend(MeshNote(name, f"{zone}: {note}") for note in readings[zone].notes)
    geometry = table.geometry or _shared_geometry(readings, table)
    target: dict[str, tuple[float, float, float] | None] = {zone: getattr(table, zone) for zone in ZONES}
    spectra: dict[str, tuple[float, ...]] = {}
    doubt: dict[str, float] = {}
    told: dict[str, list[str]] = {}
    for zone, reading in readings.items():
        name = getattr(table, f"{zone}_file")
        if reading.geometry is None:
            told.setdefault(zone, []).append(f"geometry not stated, taken as {geometry}")
            reading = stated_as(reading, geometry)
        try:
            compared = compared_as(reading, geometry)
        except BadInput as error:
            raise BadCase(f'{case}, "target.{zone}_file": {error}') from None
        if compared.note:
            told.setdefault(zone, []).append(compared.note)
        notes.extend(MeshNote(name, f"{zone}: {words}") for words in told.get(zone, ()))
        if compared.doubt_delta_e00 or reading.doubt_delta_e00:
            doubt[zone] = float(np.hypot(compared.doubt_delta_e00, reading.doubt_delta_e00))
        target[zone] = compared.lab
        if compared.reading.is_spectrum:
            spectra[zone] = tuple(float(v) for v in compared.reading.on_grid())
    short = {zone: "; ".join(words) for zone, words in told.items()}
    return Target(**target, geometry=geometry, reflectance=spectra, doubt_delta_e00=doubt, notes=short)


def _shared_geometry(readings: dict[str, Reading], table: TargetTable) -> str:
    """That of the files where all agree and no colour is given as bare numbers, else the usual one."""
    bare = any(getattr(table, zone) is not None for zone in ZONES)
    found = {reading.geometry for reading in readings.values()} - {None}
    return found.pop() or USUAL_GEOMETRY if len(found) == 1 and not bare else USUAL_GEOMETRY


def _reading(zone: str, name: str, case: Path) -> Reading:
    file, _, wanted = name.partition("#")
    key = f'{case}, "target.{zone}_file"'
    try:
        readings = read_colours(case.parent / file)
    except BadInput as error:
        raise BadCase(f"{key}: {error}") from None
    if len(readings) == 1 and not wanted:
        return readings[0]
    named = [r for r in readings if r.name.lower() == (wanted or zone).lower()]
    if len(named) == 1:
        return named[0]
    names = ", ".join(dict.fromkeys(r.name or "without a name" for r in readings[:12]))
    count = "no colour" if not named else f"{len(named)} colours"
    raise BadCase(f'{key}: {file} has {count} named "{wanted or zone}"; name one as {file}#NAME ({names})')
