"""Tooth: an ISO 3950 number and what it means in words."""

from dataclasses import dataclass

from firstbake.errors import BadCase

_QUADRANTS = {"1": "upper right", "2": "upper left", "3": "lower left", "4": "lower right"}
_NAMES = {
    "1": "central incisor",
    "2": "lateral incisor",
    "3": "canine",
    "4": "first premolar",
    "5": "second premolar",
    "6": "first molar",
    "7": "second molar",
    "8": "third molar",
}
_KINDS = {"1": "incisor", "2": "incisor", "3": "canine", "4": "premolar", "5": "premolar"}


@dataclass(frozen=True)
class Tooth:
    """A permanent tooth by its ISO 3950:2016 two-digit number.

    raises : BadCase when the number is not 11-18, 21-28, 31-38 or 41-48
    """

    number: str

    def __post_init__(self) -> None:
        if len(self.number) != 2 or self.number[0] not in _QUADRANTS or self.number[1] not in _NAMES:
            raise BadCase(
                f'tooth "{self.number}" is not an ISO 3950 number of a permanent tooth; '
                "write 11 to 18, 21 to 28, 31 to 38 or 41 to 48"
            )

    @property
    def words(self) -> str:
        """ "upper right central incisor"."""
        return f"{_QUADRANTS[self.number[0]]} {_NAMES[self.number[1]]}"

    @property
    def kind(self) -> str:
        """One of "incisor", "canine", "premolar", "molar"."""
        return _KINDS.get(self.number[1], "molar")

    @property
    def is_front(self) -> bool:
        """True for incisors and canines."""
        return self.kind in ("incisor", "canine")

    @property
    def is_upper(self) -> bool:
        """True in the upper jaw."""
        return self.number[0] in "12"

    @property
    def handed(self) -> int:
        """+1 where mesial x labial = incisal (upper right, lower left), -1 in the other two quadrants."""
        return 1 if self.number[0] in "13" else -1

    @property
    def outer_word(self) -> str:
        """The side toward lip or cheek: "labial" or "buccal"."""
        return "labial" if self.is_front else "buccal"

    @property
    def inner_word(self) -> str:
        """The side toward the mouth: "palatal" or "lingual"."""
        return "palatal" if self.is_upper else "lingual"

    @property
    def edge_word(self) -> str:
        """The biting end: "incisal" or "occlusal"."""
        return "incisal" if self.is_front else "occlusal"
