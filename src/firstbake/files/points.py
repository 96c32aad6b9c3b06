"""Reading points from a CSV file."""

import csv
from pathlib import Path

import numpy as np

from firstbake.errors import BadInput
from firstbake.mesh import Floats

COLUMNS = ("x_mm", "y_mm", "z_mm")


def read_points(path: Path) -> Floats:
    """(p, 3) points in mm from columns x_mm, y_mm, z_mm; other columns are left alone.

    raises : BadInput naming the line and column that is wrong
    """
    try:
        text = path.read_text("utf-8-sig")
    except FileNotFoundError:
        raise BadInput(f"{path} does not exist; name a CSV file with columns {', '.join(COLUMNS)}") from None
    except (OSError, UnicodeDecodeError):
        raise BadInput(f"{path} cannot be read as text; name a CSV file") from None
    rows = csv.DictReader(text.splitlines())
    missing = [c for c in COLUMNS if c not in (rows.fieldnames or [])]
    if missing:
        raise BadInput(f"{path} has no column {missing[0]}; its first line should hold {', '.join(COLUMNS)}")
    points = [[_number(row[c], path, c, rows.line_num) for c in COLUMNS] for row in rows]
    if not points:
        raise BadInput(f"{path} holds no points; add at least one line under the heading")
    return np.array(points, dtype=np.float64)


def _number(text: str | None, path: Path, column: str, line: int) -> float:
    try:
        value = float(text or "")
    except ValueError:
        value = float("nan")
    if not np.isfinite(value):
        raise BadInput(f'{path}, line {line}: "{text}" in column {column} is not a number; mend that line')
    return value
