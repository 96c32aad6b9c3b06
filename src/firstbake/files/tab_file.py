"""Measured tabs from a CSV file: what each reading is, in which unit, how it was taken."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import grid_nm, on_grid
from firstbake.errors import BadInput
from firstbake.files.tab_table import LAB_ROWS, TabTable, is_number, read_tab_table
from firstbake.powder import ROLES
from firstbake.tabs import (
    CONTACTS,
    READING_SD,
    THICKNESS_SD_MM,
    THIN_ROLES,
    THIN_THICKNESS_SD_MM,
    Identified,
    LabTab,
    Tab,
    TabSet,
    identify,
    identify_from_lab,
)

Floats = NDArray[np.float64]
Made = TypeVar("Made")

#: How the geometry may be written, and what it is in colour.GEOMETRIES.
GEOMETRY_WORDS = {
    "45/0": "45/0",
    "0/45": "45/0",
    "d/8 specular included": "d/8 specular included",
    "d/8 spin": "d/8 specular included",
    "d/8 specular excluded": "d/8 specular excluded",
    "d/8 spex": "d/8 specular excluded",
}
_WHITE_LEAST, _WHITE_MOST = 0.3, 1.1
_LIGHTS = ("d65/2", "d65/2°", "d65 2°", "d65, 2 degrees")


@dataclass(frozen=True, eq=False)
class TabFile:
    """A file of tabs, read.

    powder, role : as the file says      geometry : one of colour.GEOMETRIES
    tabs     : with spectra, or None     lab_tabs : (tabs, black tile, white tile) as CIELAB, or None
    how      : instrument, aperture, geometry, contact, thicknesses in words
    date     : ISO date
    """

    file: str
    powder: str
    role: str
    geometry: str
    index: float
    tabs: TabSet | None
    lab_tabs: tuple[tuple[LabTab, ...], tuple[float, ...], tuple[float, ...]] | None
    how: str
    date: str

    def identified(self) -> Identified:
        """What these tabs tell about the powder. raises : BadInput, naming the file"""
        try:
            if self.tabs is not None:
                return identify(self.tabs)
            assert self.lab_tabs is not None
            tabs, black, white = self.lab_tabs
            return identify_from_lab(
                tabs,
                black_tile=(black[0], black[1], black[2]),
                white_tile=(white[0], white[1], white[2]),
                geometry=self.geometry,
                role=self.role,
                index=self.index,
            )
        except BadInput as error:
            raise BadInput(f"{self.file}: {error}") from None


def read_tabs(path: Path, *, role: str | None = None) -> TabFile:
    """Read a CSV file of tabs; see tab_table for its form.

    role   : in place of the file's row role
    raises : BadInput naming the file, and the line or row that is wrong
    """
    return tabs_from_table(read_tab_table(path), role=role)


def tabs_from_table(table: TabTable, *, role: str | None = None) -> TabFile:
    """The tabs of a table; see read_tabs(). raises : BadInput"""
    role = role or table.text("role").lower()
    if role not in ROLES:
        raise table.fault("role", f'is "{role}", not one of {", ".join(ROLES)}')
    geometry = GEOMETRY_WORDS.get(" ".join(table.text("geometry").lower().split()))
    if geometry is None:
        raise table.fault("geometry", f"is not one of {'; '.join(GEOMETRY_WORDS)}")
    index = _bounded(table, "index", 1.5, (1.3, 2.5))
    kinds = _kinds(table)
    groups = _groups(table, kinds, role)
    names = [name for name, _ in table.values]
    labs = [name for name in names if name in LAB_ROWS]
    tabs = lab_tabs = None
    if labs:
        lab_tabs = _lab_tabs(table, kinds, groups)
    else:
        tabs = _spectral_tabs(table, kinds, groups, (role, geometry, index))
    how = ", ".join(
        [
            table.text("instrument"),
            f"aperture {_bounded(table, 'aperture mm', None, (0.5, 60.0)):g} mm",
            geometry,
            *(f"{thickness:.3g} mm in {contact}" for thickness, _, contact in groups),
        ]
    )
    powder = table.text("powder")
    return TabFile(table.file, powder, role, geometry, index, tabs, lab_tabs, how, _date(table))


def _bounded(table: TabTable, row: str, default: float | None, limits: tuple[float, float]) -> float:
    if row not in table.single and default is not None:
        return default
    value = table.number(row, table.text(row))
    if not limits[0] <= value <= limits[1]:
        raise table.fault(row, f"is {value:g}, it must lie between {limits[0]:g} and {limits[1]:g}")
    return value


def _date(table: TabTable) -> str:
    text = table.text("date")
    try:
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        raise table.fault("date", f'is "{text[:20]}"; write it as 2026-03-01') from None


def _kinds(table: TabTable) -> list[str]:
    kinds = []
    for cell in table.cells("what"):
        kind = " ".join(cell.lower().split())
        if kind not in ("black tile", "white tile", "tab"):
            raise table.fault("what", f'holds "{cell[:20]}"; write black tile, white tile or tab')
        kinds.append(kind)
    for tile in ("black tile", "white tile"):
        if tile not in kinds:
            raise table.fault("what", f"has no {tile}; the bare tiles are read too, black is never 0")
    if "tab" not in kinds:
        raise table.fault("what", "has no tab")
    return kinds


Group = tuple[float, float, str]


def _groups(table: TabTable, kinds: list[str], role: str) -> dict[Group, dict[str, list[int]]]:
    """Columns of each tab, (thickness mm, its doubt mm, contact) -> backing -> columns."""
    usual = THIN_THICKNESS_SD_MM if role in THIN_ROLES else THICKNESS_SD_MM
    found: dict[Group, dict[str, list[int]]] = {}
    rows = {name: table.cells(name) for name in ("thickness mm", "thickness doubt mm", "backing", "contact")}
    for k, kind in enumerate(kinds):
        if kind != "tab":
            continue
        if not rows["thickness mm"][k]:
            raise table.fault("thickness mm", f"has nothing in column {k + 2}, which is a tab")
        thickness = table.number("thickness mm", rows["thickness mm"][k])
        told = rows["thickness doubt mm"][k]
        doubt = table.number("thickness doubt mm", told) if told else usual
        contact = " ".join(rows["contact"][k].lower().split())
        if contact not in CONTACTS:
            raise table.fault("contact", f'is "{contact[:20]}" for a tab; write {" or ".join(CONTACTS)}')
        backing = rows["backing"][k].lower()
        if backing not in ("black", "white"):
            raise table.fault("backing", f'is "{backing[:20]}" in column {k + 2}; write black or white')
        found.setdefault((thickness, doubt, contact), {"black": [], "white": []})[backing].append(k)
    for (thickness, _, contact), columns in found.items():
        for backing, listed in columns.items():
            if not listed:
                raise table.fault("backing", f"has no {backing} for the {thickness:g} mm tab in {contact}")
    return found


def _spectral_tabs(
    table: TabTable,
    kinds: list[str],
    groups: dict[Group, dict[str, list[int]]],
    settings: tuple[str, str, float],
) -> TabSet:
    spectra = _spectra(table, kinds)
    role, geometry, index = settings

    def mean(columns: list[int]) -> Floats:
        return np.asarray(spectra[columns].mean(axis=0))

    black = [k for k, kind in enumerate(kinds) if kind == "black tile"]
    white = [k for k, kind in enumerate(kinds) if kind == "white tile"]
    tile_index = _bounded(table, "tile index", 1.5, (1.3, 2.5))
    doubt = _bounded(table, "reading doubt", READING_SD, (1e-5, 0.05))

    def made() -> TabSet:
        tabs = tuple(
            Tab(
                thickness, sd, mean(c["black"]), mean(c["white"]), contact, (len(c["black"]), len(c["white"]))
            )
            for (thickness, sd, contact), c in groups.items()
        )
        return TabSet(
            tabs,
            mean(black),
            mean(white),
            geometry,
            role,
            index=index,
            tile_index=tile_index,
            reading_sd=doubt,
            tile_readings=(len(black), len(white)),
        )

    return _named(table, made)


def _spectra(table: TabTable, kinds: list[str]) -> Floats:
    """(columns, 31) reflectance 0 to 1 on the grid of the colour room."""
    nm = np.array([table.number(name, name) for name, _ in table.values])
    cells = np.array([[table.number(name, cell) for cell in row] for name, row in table.values])
    order = np.argsort(nm, kind="stable")
    if not (np.diff(nm) > 0).all() and not (np.diff(nm) < 0).all():
        raise BadInput(f"{table.file}: the wavelengths must rise, or fall, from row to row")
    steps = np.abs(np.diff(nm))
    if steps.size and steps.max() - steps.min() > 1e-6:
        row = int(np.argmax(np.abs(steps - np.median(steps))))
        raise BadInput(
            f"{table.file}: from {nm[row]:g} to {nm[row + 1]:g} nm the step is {steps[row]:g} nm and "
            f"elsewhere {np.median(steps):g}; a row is missing or mistyped"
        )
    unit = table.text("unit", "").lower()
    if unit not in ("", "percent", "%", "fraction"):
        raise table.fault("unit", f'is "{unit[:20]}"; write percent or fraction')
    white = float(np.median(cells[:, [kind == "white tile" for kind in kinds]]))
    factor = 0.01 if unit in ("percent", "%") or (not unit and white > 2.0) else 1.0
    if not _WHITE_LEAST <= white * factor <= _WHITE_MOST:
        raise BadInput(
            f"{table.file}: the white tile reads {white:g}, which is no white in percent or fraction; check "
            "the row unit and which column is the white tile"
        )
    return _named(table, lambda: on_grid(nm[order], factor * cells[order].T, what="the readings"))


def _lab_tabs(
    table: TabTable, kinds: list[str], groups: dict[Group, dict[str, list[int]]]
) -> tuple[tuple[LabTab, ...], tuple[float, ...], tuple[float, ...]]:
    names = [name for name, _ in table.values]
    if sorted(names) != sorted(LAB_ROWS):
        wrong = next((name for name in names if is_number(name)), None)
        told = "and wavelengths stand side by side; give one or the other" if wrong else "need all three rows"
        raise BadInput(f"{table.file}: L*, a*, b* {told}")
    if table.text("illuminant").lower() not in _LIGHTS:
        raise table.fault("illuminant", "must be D65/2 for CIELAB readings; export them for D65, 2 degrees")
    rows = dict(table.values)
    labs = np.array([[table.number(name, cell) for cell in rows[name]] for name in LAB_ROWS]).T
    if labs[:, 0].min() < 0 or labs[:, 0].max() > 105 or np.abs(labs[:, 1:]).max() > 130:
        raise BadInput(f"{table.file}: L* lies between 0 and 100, a* and b* between -130 and 130; check them")

    def mean(columns: list[int]) -> tuple[float, float, float]:
        lightness, a, b = (float(v) for v in labs[columns].mean(axis=0))
        return lightness, a, b

    tabs = tuple(
        LabTab(thickness, sd, mean(c["black"]), mean(c["white"]), contact)
        for (thickness, sd, contact), c in groups.items()
    )
    black, white = (
        mean([k for k, kind in enumerate(kinds) if kind == t]) for t in ("black tile", "white tile")
    )
    if white[0] < 60.0 or black[0] > 40.0:
        raise BadInput(
            f"{table.file}: the white tile reads L* {white[0]:g} and the black one {black[0]:g}; check "
            "which is which"
        )
    return tabs, black, white


def _named(table: TabTable, make: Callable[[], Made]) -> Made:
    """What `make` makes; its BadInput gets the file's name."""
    try:
        return make()
    except BadInput as error:
        raise BadInput(f"{table.file}: {error}") from None


#: Grid the readings are brought to, nm, for the instruction sheet.
FIRST_NM, LAST_NM = float(grid_nm()[0]), float(grid_nm()[-1])
