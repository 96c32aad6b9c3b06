"""CardTable: one TOML table of a card, read strictly, with its place for error sentences."""

import math
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadCard
from firstbake.files.card_rules import FIGURE_KEYS, Rule
from firstbake.files.case_words import nearest_word
from firstbake.powder import STATUSES, Figure

Floats = NDArray[np.float64]

_MOST_BYTES = 1_000_000


@dataclass(frozen=True)
class CardTable:
    """A table of a card file.

    file  : the card file as named to the reader      where : "", "optics", "thermal.first_bake_degC", ...
    """

    file: str
    where: str
    content: dict[str, object]

    def fault(self, key: str, sentence: str) -> BadCard:
        """The error for a key of this table: file, key, then what is wrong."""
        return BadCard(f"{self.file}: {self.full(key)} {sentence}")

    def full(self, key: str) -> str:
        """The key with the tables it lies in, "thermal.first_bake_degC"."""
        return f"{self.where}.{key}" if self.where else key

    def only(self, known: Iterable[str]) -> None:
        """Raise BadCard on a key that is not known here, naming the nearest known one."""
        keys = list(known)
        for key in self.content:
            if key not in keys:
                raise self.fault(key, f"is not a known key{nearest_word(key, keys)}")

    def need(self, keys: Iterable[str]) -> None:
        """Raise BadCard on the first of these keys that is missing."""
        for key in keys:
            if key not in self.content:
                raise self.fault(key, "is missing; add it, with unit, status and source where it is a figure")

    def table(self, key: str) -> "CardTable":
        """The table under a key that must be there."""
        self.need([key])
        found = self.content[key]
        if not isinstance(found, dict):
            raise self.fault(key, f"is {_shown(found)}, it must be a table; write [{self.full(key)}]")
        return CardTable(self.file, self.full(key), found)

    def tables(self, key: str) -> "tuple[CardTable, ...]":
        """The array of tables under a key, empty when the key is missing."""
        found = self.content.get(key, [])
        if not isinstance(found, list) or not all(isinstance(item, dict) for item in found):
            raise self.fault(key, f"must be an array of tables; write [[{self.full(key)}]] for each")
        return tuple(CardTable(self.file, f"{self.full(key)}[{i}]", item) for i, item in enumerate(found, 1))

    def text(self, key: str) -> str:
        """Text under a key that must be there and not be empty."""
        self.need([key])
        found = self.content[key]
        if not isinstance(found, str) or not found.strip():
            raise self.fault(key, f"is {_shown(found)}, it must be text in quotes and not empty")
        return found

    def one_of(self, key: str, allowed: Iterable[str]) -> str:
        """Text that must be one of a few words."""
        found, words = self.text(key), list(allowed)
        if found not in words:
            raise self.fault(key, f'is "{found}", not one of {", ".join(words)}; write one of these')
        return found

    def flag(self, key: str, *, default: bool) -> bool:
        """True or false under a key."""
        found = self.content.get(key, default)
        if not isinstance(found, bool):
            raise self.fault(key, f"is {_shown(found)}, it must be true or false")
        return found

    def number(self, key: str) -> float:
        """A finite number under a key that must be there."""
        self.need([key])
        found = self.content[key]
        if isinstance(found, bool) or not isinstance(found, int | float):
            raise self.fault(key, f"is {_shown(found)}, it must be a number without quotes")
        if not _finite(found):
            raise self.fault(key, f"is {found}, it must be a finite number")
        return float(found)

    def bounded(self, key: str, rule: Rule) -> float:
        """A number inside the rule's range, in the rule's unit."""
        value = self.number(key)
        if not rule.allows(value):
            unit = "" if rule.unit == "1" else f" {rule.unit}"
            raise self.fault(
                key, f"is {value:g}{unit}, it must be {rule.words()}{unit}; check the number and its unit"
            )
        return value

    def numbers(self, key: str) -> Floats:
        """A list of finite numbers under a key that must be there, read-only."""
        self.need([key])
        found = self.content[key]
        plain = isinstance(found, list) and all(
            isinstance(item, int | float) and not isinstance(item, bool) and _finite(item) for item in found
        )
        if not plain or not found:
            raise self.fault(key, "must be a list of finite numbers in square brackets")
        array = np.array(found, dtype=np.float64)
        array.setflags(write=False)
        return array

    def status(self) -> str:
        """The status of this table, one of STATUSES."""
        return self.one_of("status", STATUSES)

    def figure(self, key: str, rule: Rule) -> Figure:
        """The figure under a key that must be there, inside the rule and in its unit."""
        self.need([key])
        if not isinstance(self.content[key], dict):
            raise self.fault(
                key,
                f"is {_shown(self.content[key])}, a bare value; write it as a table "
                f'{{ value = ..., unit = "{rule.unit}", status = "...", source = "..." }}',
            )
        table = self.table(key)
        table.only(FIGURE_KEYS)
        unit = table.text("unit")
        if unit != rule.unit:
            raise table.fault(
                "unit", f'is "{unit}", this figure is in "{rule.unit}"; convert the value and write that unit'
            )
        value = table.bounded("value", rule)
        low, high = (table.bounded(end, rule) if end in table.content else None for end in ("low", "high"))
        try:
            return Figure(value, unit, table.status(), table.text("source"), low, high)
        except BadCard as error:
            raise BadCard(f"{self.file}: {self.full(key)}: {error}; check low and high") from None

    def figures(self, rules: dict[str, Rule]) -> dict[str, Figure]:
        """Every figure of this table that one of the rules names."""
        return {key: self.figure(key, rule) for key, rule in rules.items() if key in self.content}


def read_table(path: Path) -> CardTable:
    """The card file as its outermost table.

    raises : BadCard when the file is missing, a folder, too big, not UTF-8 text or not TOML
    """
    if path.is_dir():
        raise BadCard(f"{path} is a folder; name the card file in it")
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise BadCard(
                f"{path} is larger than {_MOST_BYTES} bytes; a card is a short TOML file, name that one"
            )
        content = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except FileNotFoundError:
        raise BadCard(f"{path} does not exist; check the name of the card file") from None
    except OSError as error:
        raise BadCard(f"{path} cannot be read ({(error.strerror or '').lower()})") from error
    except UnicodeDecodeError:
        raise BadCard(f"{path} is not text; a card is TOML in UTF-8") from None
    except (ValueError, RecursionError) as error:
        raise BadCard(f"{path} is not valid TOML: {str(error).lower()}; mend that line") from None
    return CardTable(str(path), "", content)


def _finite(value: int | float) -> bool:
    try:
        return math.isfinite(float(value))
    except OverflowError:
        return False


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."
