"""CGATS.17 and ISO 28178 text: keywords, then tables of fields."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from firstbake.errors import BadInput
from firstbake.files.colour_fields import (
    Numbers,
    Sample,
    known_word,
    lab_axis_of,
    readings_of,
    unit_of,
    wavelength_of,
)
from firstbake.target import Reading

_TOKEN = re.compile(r'"((?:[^"]|"")*)"(?=\s|$)|([^\s"]+)|(\S)')
_PAIR_NM, _PAIR_VALUES = "SPECTRAL_NM", ("SPECTRAL_PCT", "SPECTRAL_DEC")
_NAME_FIRST = ("SAMPLE_NAME", "SAMPLE_ID", "SAMPLEID", "SAMPLENAME")


@dataclass
class _Table:
    said: dict[str, str] = field(default_factory=dict)
    fields: list[str] = field(default_factory=list)
    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    counts: dict[str, str] = field(default_factory=dict)
    line: int = 0


def cgats_readings(text: str, *, file: str, digest: str) -> tuple[Reading, ...]:
    """Every spectrum and CIELAB colour in every table of the file.

    text   : of the whole file      file, digest : its name and sha256, kept in each reading
    source : ANSI CGATS.17 and ISO 28178, from memory, unverified: BEGIN_DATA_FORMAT ... END_DATA_FORMAT,
             BEGIN_DATA ... END_DATA, one set a line, text in double quotes, # begins a comment
    raises : BadInput naming the line, for a row of the wrong width, wrong counts, open quotes, a field twice
    """
    numbers = Numbers(file)
    found: list[Reading] = []
    for table in _tables(text, file):
        samples = list(_samples(table, numbers))
        found.extend(readings_of(samples, file=file, digest=digest))
    if not found:
        raise BadInput(
            f"{file} holds no spectra and no L*, a*, b*; its fields should be like SPECTRAL_NM400 or LAB_L"
        )
    return tuple(found)


def _tokens(line: str, number: int, file: str) -> list[str]:
    parts = []
    for match in _TOKEN.finditer(line):
        quoted, plain, stray = match.groups()
        if stray is not None:
            raise BadInput(
                f"{file}, line {number}: a quotation mark is open or in the wrong place; mend that line"
            )
        if plain is not None and plain.startswith("#"):
            break
        parts.append(plain if plain is not None else quoted.replace('""', '"'))
    return parts


def _tables(text: str, file: str) -> Iterator[_Table]:
    table, part = _Table(), "head"
    for number, line in enumerate(text.splitlines(), start=1):
        words = _tokens(line, number, file)
        if not words:
            continue
        key = words[0].upper()
        if key in ("BEGIN_DATA_FORMAT", "BEGIN_DATA", "END_DATA_FORMAT", "END_DATA"):
            _check_turn(key, part, file, number)
            if key == "END_DATA":
                _check_counts(table, file)
                yield table
                table, part = _Table(), "head"
            else:
                part = {"BEGIN_DATA_FORMAT": "format", "BEGIN_DATA": "data"}.get(key, "head")
                table.line = number if key == "BEGIN_DATA" else table.line
        elif part == "format":
            table.fields.extend(words)
        elif part == "data":
            table.rows.append((number, words))
        else:
            _keyword(table, key, words[1:])
    if part != "head":
        raise BadInput(f"{file} ends inside a table; its last line should be END_DATA")


def _check_turn(key: str, part: str, file: str, number: int) -> None:
    allowed = {
        "BEGIN_DATA_FORMAT": "head",
        "BEGIN_DATA": "head",
        "END_DATA_FORMAT": "format",
        "END_DATA": "data",
    }
    if part != allowed[key]:
        raise BadInput(f"{file}, line {number}: {key} comes out of turn; mend the table it belongs to")


def _keyword(table: _Table, key: str, values: list[str]) -> None:
    if key in ("NUMBER_OF_FIELDS", "NUMBER_OF_SETS"):
        table.counts[key] = " ".join(values)
    word = known_word(key)
    if word and word != "name" and values:
        before = table.said.get(word)
        table.said[word] = " ".join(filter(None, (before, *values)))


def _check_counts(table: _Table, file: str) -> None:
    if not table.fields:
        raise BadInput(
            f"{file}, line {table.line}: the table has no BEGIN_DATA_FORMAT; its fields are not known"
        )
    upper = [name.upper() for name in table.fields if name.upper() not in (_PAIR_NM, *_PAIR_VALUES)]
    twice = sorted({name for name in upper if upper.count(name) > 1})
    if twice:
        raise BadInput(f"{file}: the field {twice[0]} stands twice in one table; give each field one column")
    for key, count, what in (
        ("NUMBER_OF_FIELDS", len(table.fields), "fields"),
        ("NUMBER_OF_SETS", len(table.rows), "rows"),
    ):
        stated = table.counts.get(key)
        if stated is not None and stated != str(count):
            raise BadInput(
                f"{file}: {key} says {stated}, but the table at line {table.line} has {count} {what}"
            )
    for number, row in table.rows:
        if len(row) != len(table.fields):
            raise BadInput(
                f"{file}, line {number}: {len(row)} values for {len(table.fields)} fields; mend that line "
                "(text with blanks needs quotation marks)"
            )


def _samples(table: _Table, numbers: Numbers) -> Iterator[Sample]:
    """The samples of a table, none when it holds no colour."""
    wavelengths = {k: nm for k, name in enumerate(table.fields) if (nm := _spectral(name)) is not None}
    axes = {axis: k for k, name in enumerate(table.fields) if (axis := _axis(name))}
    pairs = _pairs(table, numbers.what)
    if not wavelengths and not pairs and len(axes) < 3:
        return
    words = {k: word for k, name in enumerate(table.fields) if (word := known_word(name)) and word != "name"}
    names = [k for wanted in _NAME_FIRST for k, name in enumerate(table.fields) if name.upper() == wanted]
    units = {unit_of(table.fields[k]) for k in (*wavelengths, *(value for _, value in pairs))}
    for number, row in table.rows:
        said = {**table.said, **{word: row[k] for k, word in words.items()}}
        said["name"] = next((row[k] for k in names if row[k].strip()), "")
        if len(units) == 1 and (unit := next(iter(units))):
            said["unit"] = unit
        where = f"line {number}"
        lab = None
        if len(axes) == 3:
            lightness, a, b = (numbers.number(row[axes[axis]], where) for axis in "lab")
            lab = (lightness, a, b)
        places = [*wavelengths.values(), *(numbers.number(row[k], where) for k, _ in pairs)]
        values = [numbers.number(row[k], where) for k in (*wavelengths, *(value for _, value in pairs))]
        if len(set(places)) < len(places):
            raise BadInput(f"{numbers.what}, {where}: a wavelength stands there twice; mend that line")
        yield Sample(tuple(places), values, lab, said)


def _pairs(table: _Table, file: str) -> list[tuple[int, int]]:
    """Columns of wavelength and value where every row brings its own wavelengths.

    raises : BadInput when they do not stand in turn
    """
    upper = [name.upper() for name in table.fields]
    found = [k for k, name in enumerate(upper) if name in (_PAIR_NM, *_PAIR_VALUES)]
    nm, values = found[::2], found[1::2]
    right = [upper[k] == _PAIR_NM for k in nm] + [upper[k] in _PAIR_VALUES for k in values]
    if len(nm) != len(values) or not all(right) or len({upper[k] for k in values}) > 1:
        raise BadInput(
            f"{file}: the fields {_PAIR_NM} and {_PAIR_VALUES[0]} should stand in turn, one pair a wavelength"
        )
    return list(zip(nm, values, strict=True))


def _spectral(name: str) -> float | None:
    """Wavelength of a spectral field; a bare number is no field name here."""
    return None if name[:1].isdigit() else wavelength_of(name)


def _axis(name: str) -> str:
    return lab_axis_of(name) if name.upper().startswith("LAB") else ""
