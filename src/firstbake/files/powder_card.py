"""A powder card written from measured tabs."""

import json
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadInput, BadOutput
from firstbake.files.card_rules import POWDER_NEEDED, POWDER_RULES, POWDER_THERMAL_NEEDED, THERMAL_RULES
from firstbake.files.card_shelf import find_card, user_shelf
from firstbake.files.cards import read_powder
from firstbake.files.output import write_whole
from firstbake.files.tab_file import TabFile, read_tabs
from firstbake.powder import Figure, Powder
from firstbake.tabs import Identified

Floats = NDArray[np.float64]

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _.-]{0,59}\Z")
_UNSURE = {"measured": "from memory, unverified", "fitted": "from memory, unverified"}
_FIGURES = ("green_relative_density", "fired_relative_density", "solid_density_g_per_cm3", "layer_mm",
            "least_mm", "grind_off_mm", "contact_mm", "slab_waste", "liquid_ml_per_g")  # fmt: skip


@dataclass(frozen=True)
class AddedPowder:
    """A card that was written.

    path   : of the card             name, role : of the powder
    found  : what the tabs told      taken : names of the figures taken from another card, and that card
    """

    path: Path
    name: str
    role: str
    found: Identified
    taken: tuple[str, ...]
    like: str


@dataclass(frozen=True)
class CardOrder:
    """Where a card goes and what fills it.

    shelf   : folder, or None for the user's shelf     name, role : in place of those in the file
    like    : card whose other figures are taken over, or None
    replace : overwrite a card of that name            accept : write although the contact is contradicted
    """

    shelf: Path | None = None
    name: str | None = None
    role: str | None = None
    like: str | None = None
    replace: bool = False
    accept: bool = False


def add_powder(csv: Path, order: CardOrder) -> AddedPowder:
    """Read tabs, identify the powder and write its card to a shelf.

    raises : BadInput when the tabs don't tell, figures are missing or the contact is contradicted; BadOutput
             when a card of that name is there or the place can't be written to. Nothing is written then
    """
    tabs = read_tabs(csv, role=order.role)
    name = order.name or tabs.powder
    if not _NAME.match(name) or name.endswith((".", " ", ".toml")):
        raise BadInput(
            f'"{name[:40]}" can\'t name a card; use up to 60 letters, digits, spaces, - and _, or give --name'
        )
    target = (order.shelf or user_shelf()) / "powders" / f"{name}.toml"
    if target.exists() and not order.replace:
        raise BadOutput(f"{target} is there already; give another --name, or --replace to overwrite it")
    template = _template(csv, order.like)
    found = tabs.identified()
    if found.contact.contradicted and not order.accept:
        raise BadInput(f"{tabs.file}: {found.contact.sentence}; or write the card all the same with --accept")
    text = card_text(tabs, found, name=name, template=template)
    write_whole(target, text, check=read_powder)
    taken = tuple(key for key, _ in _taken(template))
    return AddedPowder(target, name, tabs.role, found, taken, template.name)


def _template(csv: Path, like: str | None) -> Powder:
    if like is None:
        needed = ", ".join((*POWDER_NEEDED, *POWDER_THERMAL_NEEDED))
        raise BadInput(
            f"tabs tell colour only; a card also needs {needed}. Give --like CARD to take them from another "
            "card (marked as such), and put in your maker's figures later"
        )
    return read_powder(find_card(like, kind="powder", beside=csv.parent))


def card_text(tabs: TabFile, found: Identified, *, name: str, template: Powder) -> str:
    """The card as TOML."""
    kind = "three-band estimate from CIELAB measured here" if found.three_band else "measured here"
    source = f"{kind}, {Path(tabs.file).name}, {tabs.date}; {tabs.how}; {_doubts(found)}"
    if found.contact.contradicted or found.contact.suspected:
        source += f". Doubtful contact: {found.contact.sentence}"
    lines = [
        f"# {name}: colour from measured tabs; the other figures from the card {template.name}.",
        f"name = {_quoted(name)}",
        f"role = {_quoted(tabs.role)}",
        f"demo = {'true' if template.demo else 'false'}",
        "",
    ]
    for key, figure in _taken(template):
        lines += _figure_lines(key, figure, template.name)
    lines += [
        "[optics]",
        f"wavelength_nm = {_listed(found.wavelength_nm, '.0f')}",
        f"absorption_per_mm = {_listed(found.absorption_per_mm)}",
        f"scattering_per_mm = {_listed(found.scattering_per_mm)}",
        f"absorption_sd_per_mm = {_listed(found.absorption_sd_per_mm)}",
        f"scattering_sd_per_mm = {_listed(found.scattering_sd_per_mm)}",
        *([] if found.three_band else [f"correlation = {_listed(np.clip(found.correlation, -1.0, 1.0))}"]),
        f"index = {tabs.index:g}" if tabs.index != int(tabs.index) else f"index = {tabs.index:.1f}",
        f"status = {_quoted('fitted' if found.three_band else 'measured')}",
        f"source = {_quoted(source)}",
        "",
    ]
    return "\n".join(lines)


def _taken(template: Powder) -> list[tuple[str, Figure]]:
    plain = [(key, getattr(template, key)) for key in _FIGURES if key in POWDER_RULES]
    thermal = [(f"thermal.{key}", figure) for key, figure in template.thermal.items() if key in THERMAL_RULES]
    return [(key, figure) for key, figure in plain + thermal if figure is not None]


def _figure_lines(key: str, figure: Figure, card: str) -> list[str]:
    source = f"taken from the card {card}, not measured for this powder: {figure.source}"
    lines = [f"[{key}]", f"value = {figure.value!r}", f"unit = {_quoted(figure.unit)}"]
    if figure.low is not None:
        lines.append(f"low = {figure.low!r}")
    if figure.high is not None:
        lines.append(f"high = {figure.high!r}")
    status = _UNSURE.get(figure.status, figure.status)
    return [*lines, f"status = {_quoted(status)}", f"source = {_quoted(source)}", ""]


def _doubts(found: Identified) -> str:
    absorption = share(found.absorption_sd_per_mm, found.absorption_per_mm)
    scattering = share(found.scattering_sd_per_mm, found.scattering_per_mm)
    return f"one standard deviation, median: absorption {absorption:.0%}, scattering {scattering:.0%}"


def share(sd: Floats, values: Floats) -> float:
    """Median relative standard deviation."""
    return float(np.median(sd / np.maximum(values, 1e-6)))


def _listed(values: Floats, form: str = ".6g") -> str:
    return "[" + ", ".join(_toml_number(format(float(v), form)) for v in values) + "]"


def _toml_number(text: str) -> str:
    return text if any(mark in text for mark in ".e") else f"{text}.0"


def _quoted(text: str) -> str:
    """A TOML basic string; JSON's escapes are a part of TOML's, the delete character apart."""
    quoted = json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
    assert tomllib.loads(f"x = {quoted}")["x"] == text
    return quoted
