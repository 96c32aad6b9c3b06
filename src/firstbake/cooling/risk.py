"""Whether the porcelain may crack: pull against what such a layer bears, as a band with reasons."""

from dataclasses import dataclass

import numpy as np

from firstbake.cooling.fracture import bearable_MPa
from firstbake.cooling.what_if import Help
from firstbake.mesh import Floats

WATCH, HIGH = 0.5, 1.0  # shares of what the layer bears; choices of this project
APART_MM = 2.5  # places nearer than this count as one
_SHAPE = {"surface": "channelling", "inside": "channelling", "lifting": "lifting"}
_WORDS = {
    "surface": "a crack from the surface",
    "inside": "a crack from inside",
    "lifting": "lifting off the core",
}


@dataclass(frozen=True)
class Risk:
    """One place where porcelain may crack.

    kind        : "surface", "inside" or "lifting"      what : the same in words
    where, at_mm : the place in words and (x, y, z) in file coordinates
    pull_MPa, doubt_MPa : mean over half a millimetre, and one standard deviation from the cards' expansions
    bears_MPa   : even pull at which a crack as deep as the layer is thick runs on
    band        : "low", "watch" or "high"; with `doubt_band` from a doubt less to a doubt more
    drivers     : what makes it      helps : what would lower it
    """

    kind: str
    what: str
    where: str
    at_mm: tuple[float, float, float]
    thickness_mm: float
    pull_MPa: float
    doubt_MPa: float
    bears_MPa: float
    band: str
    doubt_band: tuple[str, str]
    drivers: tuple[str, ...]
    helps: tuple[Help, ...]

    @property
    def ratio(self) -> float:
        """Pull over what the layer bears, unit 1."""
        return self.pull_MPa / self.bears_MPa


def by_place(risks: tuple[Risk, ...]) -> tuple[tuple[Risk, ...], ...]:
    """Those above "low", grouped by their place in words, worst place and worst kind first."""
    places: dict[str, dict[str, Risk]] = {}
    for risk in sorted(risks, key=lambda r: -r.ratio):
        if risk.band != "low":
            places.setdefault(risk.where, {}).setdefault(risk.kind, risk)
    return tuple(tuple(kinds.values()) for kinds in places.values())


def band_words(risk: Risk) -> str:
    """ "high", or "watch to high" where the doubt reaches over an end of the band."""
    return " to ".join(dict.fromkeys(risk.doubt_band))


def band_of(ratio: float) -> str:
    """ "low" up to half of what the layer bears, "watch" up to all of it, else "high"."""
    return "low" if ratio < WATCH else "watch" if ratio <= HIGH else "high"


def words_of(kind: str) -> str:
    """The kind of crack in words."""
    return _WORDS[kind]


def shape_of(kind: str) -> str:
    """How a crack of this kind runs, a key of CRACK_SHAPES."""
    return _SHAPE[kind]


def worst_places(
    points_mm: Floats, pull_MPa: Floats, thickness_mm: Floats, *, kind: str, toughness: float, most: int = 2
) -> list[tuple[int, float]]:
    """Rows and ratios of the worst places of one kind, worst first, at least 2.5 mm from another.

    points_mm : (n, 3)      pull_MPa, thickness_mm : (n,); rows of NaN are left out
    The first place is always given, others only from "watch" on.
    """
    ratio = pull_MPa / bearable_MPa(thickness_mm, toughness=toughness, shape=shape_of(kind))
    left = np.where(np.isfinite(ratio), ratio, -np.inf)
    found: list[tuple[int, float]] = []
    while len(found) < most and np.isfinite(left.max(initial=-np.inf)):
        row = int(np.argmax(left))
        if found and left[row] < WATCH:
            break
        found.append((row, float(left[row])))
        left[np.linalg.norm(points_mm - points_mm[row], axis=1) < APART_MM] = -np.inf
    return found
