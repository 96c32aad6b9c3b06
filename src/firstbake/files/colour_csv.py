"""Colour tables as CSV or plain columns: wavelengths along the top, down the side, or L*, a*, b*."""

import csv
import re
from collections.abc import Callable, Sequence

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

Row = tuple[int, list[str]]
_DELIMITERS = (("semicolons", ";"), ("tabs", "\t"), ("commas", ","), ("blanks", " "))
_NOT_REFLECTANCE = re.compile(
    r"\b(sd|s\.d\.|std|stdev|error|doubt|deviation|transm\w*|absorb\w*|k/s)\b", re.IGNORECASE
)
_LEAST_HEADS = 3
_UNIT_AT_END = re.compile(r"(?:^R?|[\s(\[_])(%|percent|pct|fraction|decimal)[\s)\]]*$", re.IGNORECASE)


def csv_readings(text: str, *, file: str, digest: str) -> tuple[Reading, ...]:
    """Every colour of a CSV file.

    text   : of the whole file      file, digest : its name and sha256, kept in each reading
    layout : a heading with wavelengths and a sample a line; or a wavelength a line and a sample a column; or
             columns L*, a*, b*. Lines "key, value" above the table say how it was measured (geometry,
             illuminant, observer, backing, ...), and so may columns. Layout, separator and decimal mark are
             found, and the notes of each reading say what was found.
    raises : BadInput naming the line that is wrong, or when the layout cannot be told
    """
    fault: BadInput | None = None
    for name, mark in _DELIMITERS:
        try:
            rows = _rows(text, mark, file)
        except BadInput as error:
            fault = error if mark in text else fault
            continue
        reader = _layout(rows, file)
        if reader is None:
            continue
        numbers = Numbers(file)
        head, layout, samples = reader(rows, numbers, mark)
        for sample in samples:
            sample.said = {**head, **sample.said}
        notes = [f"{layout}, separated by {name}", *_assumed_light(samples)]
        if numbers.mark == ",":
            notes.append("decimal comma")
        return readings_of(samples, file=file, digest=digest, notes=notes)
    raise fault or BadInput(
        f"{file} has neither a heading of wavelengths, nor wavelengths from 400 to 700 nm down its first "
        "column, nor columns L*, a*, b*"
    )


def _rows(text: str, mark: str, file: str) -> list[Row]:
    """Lines that hold anything, as cells, with their numbers."""
    if mark == " ":
        split = [(n, line.split()) for n, line in enumerate(text.splitlines(), start=1)]
        return [(n, cells) for n, cells in split if cells]
    reader = csv.reader(text.splitlines(), delimiter=mark, skipinitialspace=True, strict=True)
    found: list[Row] = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                found.append((reader.line_num, [cell.strip() for cell in cells]))
    except csv.Error as error:
        raise BadInput(f"{file}, line {reader.line_num}: {error}; mend the quotation marks there") from None
    return found


Found = tuple[dict[str, str], str, list[Sample]]


def _layout(rows: Sequence[Row], file: str) -> Callable[[Sequence[Row], Numbers, str], Found] | None:
    """How these rows are laid out, None when they hold no colour this way."""
    along = any(_reaches([nm for c in cells if (nm := wavelength_of(c)) is not None]) for _, cells in rows)
    first = [nm for _, cells in rows if (nm := _plain_wavelength(cells)) is not None]
    if along and _reaches(first):
        raise BadInput(
            f"{file} has wavelengths both along a line and down the first column; give the samples names "
            "that are no numbers"
        )
    if along:
        return _samples_in_lines
    if _reaches(first):
        return _samples_in_columns
    heads = [cells for _, cells in rows if _lab_columns(cells)]
    if heads:
        return _lab_lines
    some = max((sum(wavelength_of(c) is not None for c in cells) for _, cells in rows), default=0)
    most = max(some, len(first))
    if most >= _LEAST_HEADS and any(len(cells) > 1 for _, cells in rows):
        raise BadInput(
            f"{file} has wavelengths, but they do not reach from 400 to 700 nm; measure that range"
        )
    return None


def _reaches(nm: Sequence[float]) -> bool:
    return len(nm) >= _LEAST_HEADS and min(nm) <= 400.0 and max(nm) >= 700.0


def _plain_wavelength(cells: Sequence[str]) -> float | None:
    """The wavelength in the first cell of a line that has something beside it."""
    return wavelength_of(cells[0]) if len(cells) > 1 else None


def _lab_columns(cells: Sequence[str]) -> dict[str, int]:
    """Axis -> column, or nothing when they are not all there."""
    found = {axis: k for k, cell in enumerate(cells) if (axis := lab_axis_of(cell))}
    return found if len(found) == 3 else {}


def _refuse_two_labs(heading: Sequence[str], file: str, line: int) -> None:
    found = [axis for cell in heading if (axis := lab_axis_of(cell))]
    twice = next((axis for axis in found if found.count(axis) > 1), "")
    if twice:
        raise BadInput(
            f"{file}, line {line}: {twice.upper()}* stands in more than one column; keep one set of Lab"
        )


def _head(rows: Sequence[Row]) -> dict[str, str]:
    """Key and value of the lines above a table; other lines are left alone."""
    said: dict[str, str] = {}
    for _, cells in rows:
        filled = [cell for cell in cells if cell]
        if len(filled) == 1:
            filled = [part.strip() for part in filled[0].split(":", 1)]
        word = known_word(filled[0].lstrip("# "))
        if word and word != "name" and len(filled) > 1:
            said[word] = " ".join(filled[1:])
    return said


def _assumed_light(samples: Sequence[Sample]) -> list[str]:
    """Lab columns without a stated light count as D65 and 2 degrees, which dental files mostly mean."""
    if not any(s.lab for s in samples if not s.nm and not s.said.get("light") and not s.said.get("observer")):
        return []
    for sample in samples:
        if sample.lab and not sample.nm and not sample.said.get("light") and not sample.said.get("observer"):
            sample.said.update(light="D65", observer="2")
    return ["L*, a*, b* taken as D65 and 2 degrees, the file does not say"]


def _samples_in_lines(rows: Sequence[Row], numbers: Numbers, mark: str) -> Found:
    """A heading of wavelengths, then a sample a line; every further heading begins a table."""
    is_head = [_reaches([nm for c in cells if (nm := wavelength_of(c)) is not None]) for _, cells in rows]
    first = is_head.index(True)
    heading: list[str] = []
    samples: list[Sample] = []
    for (line, cells), head in zip(rows[first:], is_head[first:], strict=True):
        if head:
            heading = cells
            _refuse_twice(heading, numbers.what, line)
            _refuse_two_labs(heading, numbers.what, line)
            continue
        samples.append(_line_sample(heading, cells, numbers, line))
    if not samples:
        raise BadInput(f"{numbers.what} has a heading of wavelengths and no line under it")
    return _head(rows[:first]), "a sample a line", samples


def _refuse_twice(heading: Sequence[str], file: str, line: int) -> None:
    nm = [w for cell in heading if (w := wavelength_of(cell)) is not None]
    twice = sorted({w for w in nm if nm.count(w) > 1})
    if twice:
        raise BadInput(f"{file}, line {line}: {twice[0]:g} nm stands twice in the heading")


def _line_sample(heading: Sequence[str], cells: list[str], numbers: Numbers, line: int) -> Sample:
    row = _fitted(cells, len(heading), numbers.what, line)
    said, nm, values, where = _said(heading, row), [], [], f"line {line}"
    for head, cell in zip(heading, row, strict=True):
        wavelength = wavelength_of(head)
        if wavelength is not None:
            nm.append(wavelength)
            values.append(numbers.number(cell, f"{where}, {head}"))
    axes = _lab_columns(heading)
    lab = _lab(axes, row, numbers, where) if axes and any(row[k] for k in axes.values()) else None
    units = {unit_of(head) for head in heading if wavelength_of(head) is not None}
    if "unit" not in said and len(units) == 1 and (unit := units.pop()):
        said["unit"] = unit
    return Sample(nm, values, lab, said)


def _said(heading: Sequence[str], row: Sequence[str]) -> dict[str, str]:
    pairs = [(known_word(head), cell) for head, cell in zip(heading, row, strict=True)]
    said: dict[str, str] = {}
    for word, cell in pairs:
        if word and cell and word not in said:
            said[word] = cell
    return said


def _fitted(cells: list[str], width: int, file: str, line: int) -> list[str]:
    """A line cut to the heading's width when only empty cells are over."""
    while len(cells) > width and not cells[-1]:
        cells = cells[:-1]
    if len(cells) != width:
        raise BadInput(
            f"{file}, line {line}: {len(cells)} values under a heading of {width}; mend that line (a decimal "
            "comma between commas needs quotation marks)"
        )
    return cells


def _lab(
    axes: dict[str, int], row: Sequence[str], numbers: Numbers, where: str
) -> tuple[float, float, float]:
    lightness, a, b = (numbers.number(row[axes[axis]], f"{where}, {axis.upper()}*") for axis in "lab")
    return lightness, a, b


def _samples_in_columns(rows: Sequence[Row], numbers: Numbers, mark: str) -> Found:
    """A wavelength a line, a sample a column; the line above names the samples."""
    first = next(k for k, (_, cells) in enumerate(rows) if _plain_wavelength(cells) is not None)
    width = len(rows[first][1])
    heading = rows[first - 1][1] if first > 0 and len(rows[first - 1][1]) == width else None
    if heading is None and (width > 2 or mark == ","):
        raise BadInput(
            f"{numbers.what}, line {rows[first][0]}: there is no heading with as many names as columns; add "
            "one, so that columns and decimal commas can be told apart"
        )
    nm: list[float] = []
    columns: list[list[float]] = [[] for _ in range(width - 1)]
    kept = [k for k in range(width - 1) if heading is None or not _NOT_REFLECTANCE.search(heading[k + 1])]
    for line, cells in rows[first:]:
        row = _fitted(cells, width, numbers.what, line)
        wavelength = wavelength_of(row[0])
        if wavelength is None:
            raise BadInput(
                f'{numbers.what}, line {line}: "{row[0]}" is no wavelength; mend or take out that line'
            )
        nm.append(wavelength)
        for k in kept:
            columns[k].append(numbers.number(row[k + 1], f"line {line}"))
    if not kept:
        raise BadInput(f"{numbers.what} has no column of reflectances")
    samples = [Sample(nm, columns[k], None, _column_said(heading, k + 1)) for k in kept]
    layout = "a wavelength a line"
    if heading is not None and len(kept) < width - 1:
        left_out = [f'"{heading[k + 1]}"' for k in range(width - 1) if k not in kept]
        layout += f"; left out as no reflectance by their names: {', '.join(left_out)}"
    return _head(rows[: first - 1 if heading else first]), layout, samples


def _column_said(heading: Sequence[str] | None, k: int) -> dict[str, str]:
    if heading is None:
        return {}
    mark = _UNIT_AT_END.search(heading[k])  # elsewhere it belongs to the sample's name
    unit = unit_of(mark[1]) if mark else unit_of(heading[0])
    name = heading[k][: mark.start(1)].rstrip(" ([_") if mark else heading[k]
    return {"name": name, **({"unit": unit} if unit else {})}


def _lab_lines(rows: Sequence[Row], numbers: Numbers, mark: str) -> Found:
    """A heading with L*, a*, b*, then a sample a line."""
    first = next(k for k, (_, cells) in enumerate(rows) if _lab_columns(cells))
    heading = rows[first][1]
    _refuse_two_labs(heading, numbers.what, rows[first][0])
    axes = _lab_columns(heading)
    samples: list[Sample] = []
    head = _head(rows[:first])
    for line, cells in rows[first + 1 :]:
        row = _fitted(cells, len(heading), numbers.what, line)
        samples.append(Sample(lab=_lab(axes, row, numbers, f"line {line}"), said=_said(heading, row)))
    if not samples:
        raise BadInput(f"{numbers.what} has columns L*, a*, b* and no line under them")
    return head, "a colour a line", samples
