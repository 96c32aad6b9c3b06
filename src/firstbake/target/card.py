"""A colour card: patches of known colour between four corner marks, all placed in mm."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadInput

Floats = NDArray[np.float64]
PointMm = tuple[float, float]

LEAST_PATCHES = 8  # nine coefficients from three numbers a patch, each patch left out once (chosen here)


@dataclass(frozen=True)
class Patch:
    """One patch.

    centre_mm : on the card, x to the right, y down     side_mm : of its square
    xyz       : D65, 2 degrees, Y of the perfect diffuser 100
    """

    name: str
    centre_mm: PointMm
    side_mm: float
    xyz: tuple[float, float, float]


@dataclass(frozen=True)
class Mark:
    """One corner mark. number : of the ArUco pattern       centre_mm, side_mm : of its black square."""

    number: int
    centre_mm: PointMm
    side_mm: float

    def corners_mm(self) -> Floats:
        """(4, 2) corners, clockwise from the upper left of the upright pattern."""
        half = 0.5 * self.side_mm
        return np.array(self.centre_mm) + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])


@dataclass(frozen=True)
class Card:
    """A measured card.

    geometry : how the patches were measured, one of colour.GEOMETRIES, or None where not said
    raises   : BadInput when marks or patches are too few, share a number or a name
    """

    name: str
    marks: tuple[Mark, ...]
    patches: tuple[Patch, ...]
    geometry: str | None = None

    def __post_init__(self) -> None:
        if len({mark.number for mark in self.marks}) != 4 or len(self.marks) != 4:
            raise BadInput(f'card "{self.name}" needs four corner marks with four different numbers')
        if len(self.patches) < LEAST_PATCHES:
            raise BadInput(
                f'card "{self.name}" has {len(self.patches)} patches; {LEAST_PATCHES} are the least that can '
                "be fitted and checked"
            )
        names = [patch.name for patch in self.patches]
        if len(set(names)) != len(names):
            raise BadInput(f'card "{self.name}" has two patches of one name; name each differently')


def printed_patches() -> tuple[tuple[str, tuple[float, float, float], PointMm], ...]:
    """Name, nominal CIELAB and place in mm of the patches of the card that firstbake prints.

    Eight greys, then tooth-like colours from dark yellow to light grey, then four deeper colours that hold
    the fit. Invented here to span 4.1 of common tooth colours and some way beyond.
    """
    greys = [(light, 0.0, 0.0) for light in (25, 38, 50, 60, 69, 77, 85, 93)]
    teeth = [
        (64, 4, 24), (68, 3, 22), (71, 5, 26), (72, 2, 18), (75, 1, 15), (78, 2, 20),
        (80, 0, 12), (83, 0, 17), (66, 0, 10), (70, -1, 8), (58, 8, 26), (76, 4, 28),
    ]  # fmt: skip
    deep = [(48, 32, 18), (50, -24, 20), (42, 4, -28), (72, 6, 48)]
    labs = [(float(a), float(b), float(c)) for a, b, c in (*greys, *teeth, *deep)]
    places = [(20.0 + 10.0 * (k % 6), 10.0 + 10.0 * (k // 6)) for k in range(len(labs))]
    return tuple(
        (f"p{k + 1:02d}", lab, place) for k, (lab, place) in enumerate(zip(labs, places, strict=True))
    )


PRINTED_SIZE_MM = (90.0, 50.0)
PRINTED_PATCH_MM = 8.0


def printed_marks() -> tuple[Mark, ...]:
    """The corner marks of the card that firstbake prints, clockwise from the upper left."""
    return tuple(Mark(k, place, 8.0) for k, place in enumerate([(7, 7), (83, 7), (83, 43), (7, 43)]))
