"""Coupons from a CSV file, and a card with the density they give."""

import csv
import re
from pathlib import Path

from firstbake.errors import BadInput, BadOutput
from firstbake.files.cards import find_card, read_powder
from firstbake.powder import Coupon, Powder, ShrinkageFit, fit_shrinkage

_SIZES = {"disc": ("height", "diameter"), "bar": ("height", "width", "length")}


def read_coupons(path: Path) -> tuple[Coupon, ...]:
    """Coupons from a CSV file, one a line.

    columns : shape (disc or bar), then green_height_mm, fired_height_mm and, for a disc, green_diameter_mm
              and fired_diameter_mm, for a bar green_width_mm, fired_width_mm, green_length_mm,
              fired_length_mm. Other columns are left alone.
    Separated by commas or semicolons; decimals with a point or, between semicolons, a comma.
    raises  : BadInput naming the line and column that is wrong
    """
    try:
        text = path.read_text("utf-8-sig")
    except FileNotFoundError:
        raise BadInput(f"{path} does not exist; name a CSV file of coupons") from None
    except (OSError, UnicodeDecodeError):
        raise BadInput(f"{path} cannot be read as text; name a CSV file of coupons") from None
    lines = text.splitlines()
    rows = csv.DictReader(lines, delimiter=";" if lines and ";" in lines[0] else ",")
    if "shape" not in (rows.fieldnames or []):
        raise BadInput(f"{path} has no column shape; its first line should hold shape, green_height_mm, ...")
    found = tuple(_coupon(row, path, rows.line_num) for row in rows)
    if not found:
        raise BadInput(f"{path} holds no coupons; add a line for each")
    return found


def _coupon(row: dict[str, str | None], path: Path, line: int) -> Coupon:
    shape = (row["shape"] or "").strip().lower()
    if shape not in _SIZES:
        raise BadInput(f'{path}, line {line}: shape is "{shape}"; write disc or bar')

    def sizes(state: str) -> tuple[float, ...]:
        return tuple(_size(row, f"{state}_{name}_mm", path, line) for name in _SIZES[shape])

    try:
        return Coupon(shape, sizes("green"), sizes("fired"))
    except BadInput as error:
        if str(path) in str(error):
            raise
        raise BadInput(f"{path}, line {line}: {error}") from None


def _size(row: dict[str, str | None], column: str, path: Path, line: int) -> float:
    text = row.get(column)
    if text is None or not text.strip():
        raise BadInput(f"{path}, line {line}: {column} is missing; a {row['shape']} needs it")
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise BadInput(f'{path}, line {line}: "{text}" in column {column} is not a number') from None


def fit_card(path: Path, card: str) -> tuple[Powder, ShrinkageFit, Path]:
    """Fit the coupons of a CSV file to the powder of a card. Returns the powder, the fit, the card's file."""
    place = find_card(card, kind="powder", beside=path.parent)
    powder = read_powder(place)
    fired = powder.fired_relative_density
    doubt = 0.005 if fired.low is None or fired.high is None else (fired.high - fired.low) / 4
    coupons = read_coupons(path)
    return powder, fit_shrinkage(coupons, fired_relative_density=fired.value, fired_doubt=doubt), place


def density_table(fit: ShrinkageFit) -> str:
    """The card's table for the fitted density, as TOML."""
    sd = max(fit.standard_error, fit.build_sd)
    value = fit.green_relative_density
    return (
        "[green_relative_density]\n"
        f"value = {value:.4f}\n"
        'unit = "1"\n'
        f"low = {max(value - 2 * sd, 0.01):.4f}\n"
        f"high = {min(value + 2 * sd, 0.999):.4f}\n"
        'status = "measured"\n'
        f'source = "{fit.coupons} coupon{"s" if fit.coupons > 1 else ""} measured before and after firing; '
        'low and high are two standard deviations"\n'
    )


def write_fitted_card(source: Path, fit: ShrinkageFit, *, out: Path, name: str) -> None:
    """Write a copy of a card with the fitted density under a name of its own. raises : BadOutput, BadInput"""
    text = source.read_text("utf-8")
    table = re.compile(r"^\[green_relative_density\]\n(?:(?!\[).*\n?)*", re.MULTILINE)
    if not table.search(text):
        raise BadInput(
            f"{source} holds green_relative_density in another form; write it as a table of its own"
        )
    fitted = table.sub(density_table(fit) + "\n", text, count=1)
    fitted = re.sub(r'^name = ".*"$', f'name = "{name}"', fitted, count=1, flags=re.MULTILINE)
    if out.exists():
        raise BadOutput(f"{out} is there already; name a new file for the card")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        out.write_text(fitted, "utf-8")
    except OSError as error:
        raise BadOutput(f"{out} cannot be written ({(error.strerror or '').lower()})") from error
    read_powder(out)
