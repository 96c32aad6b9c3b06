"""A CSV file of tabs as a table of words: delimiter, header rows, columns; no meaning yet.

One row, one thing; first cell its name. Each later column is one reading. A row with a single cell filled
holds for the whole file. Rows named by a number are wavelengths in nm; or three rows L*, a*, b*.
"""

import csv
import io
import math
import re
from dataclasses import dataclass
from pathlib import Path

from firstbake.errors import BadInput
from firstbake.files.case_words import nearest_word

#: Rows that hold for the whole file, and rows with one cell for each reading.
FILE_ROWS = (
    "powder",
    "role",
    "geometry",
    "instrument",
    "aperture mm",
    "date",
    "unit",
    "illuminant",
    "index",
    "tile index",
    "reading doubt",
    "note",
)
READING_ROWS = ("what", "thickness mm", "thickness doubt mm", "backing", "contact")
LAB_ROWS = ("l*", "a*", "b*")

_MOST_BYTES = 2_000_000
_MOST_COLUMNS = 200
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d{1,3})?\Z", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True)
class TabTable:
    """The rows of a file by name.

    file    : as named to the reader
    single  : rows that hold for the whole file      each : rows with one cell for each of `columns` readings
    values  : (name of the row, its cells) for wavelengths or L*, a*, b*, in the file's order
    lines   : line of each row
    """

    file: str
    columns: int
    single: dict[str, str]
    each: dict[str, tuple[str, ...]]
    values: tuple[tuple[str, tuple[str, ...]], ...]
    lines: dict[str, int]

    def fault(self, row: str, sentence: str) -> BadInput:
        """The error for a row: file, line where known, name, then what is wrong."""
        line = f", line {self.lines[row]}" if row in self.lines else ""
        return BadInput(f"{self.file}{line}: {row} {sentence}")

    def text(self, row: str, default: str | None = None) -> str:
        """The cell of a row that holds for the whole file."""
        found = self.single.get(row, default)
        if found is None:
            raise self.fault(row, "is missing; add a row with that name")
        return found

    def cells(self, row: str) -> tuple[str, ...]:
        """The cells of a row for each reading; a row with one cell holds for all."""
        if row in self.each:
            return self.each[row]
        return (self.single.get(row, ""),) * self.columns

    def number(self, row: str, cell: str) -> float:
        """A number with decimal point or comma."""
        if not _NUMBER.match(cell):
            raise self.fault(row, f'holds "{cell[:20]}", which is not a number')
        value = float(cell.replace(",", "."))
        if not math.isfinite(value):
            raise self.fault(row, f'holds "{cell[:20]}", which is too large')
        return value


def is_number(cell: str) -> bool:
    """True for a plain number with decimal point or comma."""
    return bool(_NUMBER.match(cell))


def read_tab_table(path: Path) -> TabTable:
    """Read the rows of a CSV file of tabs.

    delimiter : semicolon, tab or comma, whichever stands behind the first name; with a comma as delimiter
                decimals take a point, or stand in quotes
    raises    : BadInput naming file and line
    """
    return table_from_text(_text_of(path), str(path))


def table_from_text(text: str, file: str) -> TabTable:
    """The table of a file's text; see read_tab_table(). raises : BadInput"""
    rows = _rows(text, file)
    single: dict[str, str] = {}
    each: dict[str, tuple[str, ...]] = {}
    values: list[tuple[str, tuple[str, ...]]] = []
    lines: dict[str, int] = {}
    known = (*FILE_ROWS, *READING_ROWS)
    for line, cells in rows:
        name = " ".join(cells[0].lower().split())
        if name in lines:
            raise BadInput(f"{file}, line {line}: {name} stands here again (first in line {lines[name]})")
        lines[name] = line
        if is_number(name) or name in LAB_ROWS:
            values.append((name, cells[1:]))
        elif name in FILE_ROWS or (name in READING_ROWS and name != "what" and _one_for_all(cells)):
            if not _one_for_all(cells):
                raise BadInput(f"{file}, line {line}: {name} holds for the whole file; give it one cell")
            single[name] = cells[1]
        elif name in READING_ROWS:
            each[name] = cells[1:]
        else:
            raise BadInput(
                f'{file}, line {line}: "{cells[0][:30]}" is no known row{nearest_word(name, list(known))}'
            )
    return _checked(TabTable(file, 0, single, each, tuple(values), lines))


def _checked(table: TabTable) -> TabTable:
    if "what" not in table.each:
        raise BadInput(
            f"{table.file}: the row what is missing; it says of each reading: black tile, white tile or tab"
        )
    columns = len(table.each["what"])
    if columns > _MOST_COLUMNS:
        raise BadInput(f"{table.file}: {columns} readings; {_MOST_COLUMNS} is the most that is read")
    if not table.values:
        raise BadInput(f"{table.file} holds no readings; add a row for each wavelength, or L*, a* and b*")
    each = {}
    for name, cells in table.each.items():
        each[name] = _fitted(table, name, cells, columns=columns)
    values = tuple((name, _fitted(table, name, cells, columns=columns)) for name, cells in table.values)
    for name, cells in values:
        if "" in cells:
            raise table.fault(name, f"has no value in column {cells.index('') + 2}")
    return TabTable(table.file, columns, table.single, each, values, table.lines)


def _fitted(table: TabTable, name: str, cells: tuple[str, ...], *, columns: int) -> tuple[str, ...]:
    if len(cells) > columns:
        raise table.fault(
            name,
            f"has {len(cells)} cells and the row what {columns}; with commas between the cells, decimals "
            "take a point",
        )
    return cells + ("",) * (columns - len(cells))


def _one_for_all(cells: tuple[str, ...]) -> bool:
    return len(cells) == 2 and cells[1] != ""


def _rows(text: str, file: str) -> list[tuple[int, tuple[str, ...]]]:
    """(line, cells) of every row that is neither empty nor a comment, empty cells at the end left out."""
    if "\x00" in text:
        raise BadInput(f"{file} is not a text table; save it as CSV")
    delimiter = _delimiter(text)
    found = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for row in reader:
            cells = [cell.strip() for cell in row]
            while cells and not cells[-1]:
                cells.pop()
            if not cells or cells[0].startswith("#"):
                continue
            if len(cells) == 1 and cells[0]:
                raise BadInput(f'{file}, line {reader.line_num}: "{cells[0][:30]}" has nothing beside it')
            found.append((reader.line_num, tuple(cells)))
    except csv.Error as error:
        raise BadInput(f"{file}, line {reader.line_num}: {error}; check the quotes there") from None
    if not found:
        raise BadInput(f"{file} is empty; print the tab sheet to see what belongs in it")
    return found


def _delimiter(text: str) -> str:
    """The first of semicolon, tab and comma in the first row that is no comment."""
    for line in text.splitlines():
        if line.strip() and not line.lstrip().startswith("#"):
            places = {mark: line.find(mark) for mark in ";\t," if mark in line}
            return min(places, key=places.__getitem__) if places else ","
    return ","


def _text_of(path: Path) -> str:
    if path.is_dir():
        raise BadInput(f"{path} is a folder; name the CSV file of tabs in it")
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise BadInput(f"{path} is larger than {_MOST_BYTES} bytes; a file of tabs is a short table")
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise BadInput(f"{path} does not exist; name a CSV file of tabs") from None
    except UnicodeDecodeError:
        raise BadInput(f"{path} is not text in UTF-8; save it as CSV UTF-8") from None
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({(error.strerror or '').lower()})") from error
