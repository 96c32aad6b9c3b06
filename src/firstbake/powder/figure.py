"""Figure: a number with its unit, range, status and source."""

from dataclasses import dataclass

from firstbake.errors import BadCard

STATUSES = ("measured", "published", "common practice", "from memory, unverified", "fitted", "demo")


@dataclass(frozen=True)
class Figure:
    """One material value as it stands on a card.

    value  : in `unit`
    unit   : as written on the card ("1", "mm", "g/cm3", "1e-6/K", "degC", ...)
    status : one of STATUSES
    source : where the value comes from, never empty
    low, high : the range, same unit, or None when nobody stated one
    raises : BadCard on an unknown status, an empty source or a range that does not hold the value
    """

    value: float
    unit: str
    status: str
    source: str
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        if self.status not in STATUSES:
            raise BadCard(f'status "{self.status}" is not one of {", ".join(STATUSES)}')
        if not self.source.strip():
            raise BadCard("a figure needs a source; say where the value comes from")
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if not low <= self.value <= high:
            unit = "" if self.unit == "1" else f" {self.unit}"
            raise BadCard(
                f"value {self.value} lies outside its own range {low} to {high}{unit}; "
                "change low and high with it"
            )
