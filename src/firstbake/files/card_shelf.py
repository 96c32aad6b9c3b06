"""The shelf: where a card is looked for by name."""

import difflib
import os
import re
from importlib import resources
from pathlib import Path
from typing import Literal

from platformdirs import user_data_dir

from firstbake.errors import BadCard

CardKind = Literal["powder", "core"]

_FOLDERS = {"powder": "powders", "core": "cores"}
_SHELF_VARIABLE = "FIRSTBAKE_SHELF"


def find_card(name: str, *, kind: CardKind, beside: Path) -> Path:
    """The file of a card.

    name   : a name on the shelf, or a path (it ends in .toml or holds a / or \\), relative to the case file
    beside : the case file, or the folder it is in
    order  : `shelf/` beside the case file, the user's shelf (FIRSTBAKE_SHELF, else the user's data folder),
             the built-in shelf; each holds the folders `powders` and `cores`, and cards of either kind may
             also lie in it directly (a core's card has a `kind`, a powder's a `role`)
    raises : BadCard when there is no such card, naming the nearest known name and what is on the shelf
    """
    folder = beside if beside.is_dir() else beside.parent
    if name.endswith(".toml") or "/" in name or "\\" in name:
        return _named_path(name, folder)
    known = cards_on_shelf(kind, beside=beside)
    if name in known:
        return known[name]
    names = sorted(known)
    other: CardKind = "core" if kind == "powder" else "powder"
    if name in cards_on_shelf(other, beside=beside):
        raise BadCard(
            f'card "{name}" is a {other} card and a {kind} card is needed; on the shelf: {", ".join(names)}'
        )
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    hint = f'; did you mean "{near[0]}"?' if near else "."
    raise BadCard(f'no {kind} card is named "{name}"{hint} On the shelf: {", ".join(names)}')


def _named_path(name: str, folder: Path) -> Path:
    path = folder / name.replace("\\", "/")
    try:
        found = path.exists()
    except (OSError, ValueError):
        found = False
    if not found:
        raise BadCard(f"card {name} does not exist beside the case file ({path}); check the path")
    return path


def cards_on_shelf(kind: CardKind, *, beside: Path) -> dict[str, Path]:
    """Every card of one kind, name -> file; a shelf nearer to the case wins."""
    folder = beside if beside.is_dir() else beside.parent
    found: dict[str, Path] = {}
    for shelf in (folder / "shelf", user_shelf(), _built_in_shelf()):
        for path in sorted((shelf / _FOLDERS[kind]).glob("*.toml")):
            found.setdefault(path.stem, path)
        for path in sorted(shelf.glob("*.toml")):
            if _kind_of(path) == kind:
                found.setdefault(path.stem, path)
    return found


def _kind_of(path: Path) -> CardKind:
    """The kind of a card that lies on a shelf directly; a card that cannot be read counts as a powder."""
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError):
        return "powder"
    return "core" if re.search(r"^kind\s*=", text, re.MULTILINE) else "powder"


def user_shelf() -> Path:
    """The folder of the user's own cards: FIRSTBAKE_SHELF, else a folder in the user's data."""
    named = os.environ.get(_SHELF_VARIABLE)
    return Path(named) if named else Path(user_data_dir("firstbake", appauthor=False)) / "shelf"


def _built_in_shelf() -> Path:
    return Path(str(resources.files("firstbake").joinpath("shelf")))
