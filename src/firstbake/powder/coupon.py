"""Green density from coupons: free discs or bars measured before and after firing."""

from dataclasses import dataclass

import numpy as np

from firstbake.errors import BadInput

# A bench calliper reads to 0.05 mm (common practice): one standard deviation of a reading taken as even
# over that step is 0.05 / sqrt(12).
READING_SD_MM = 0.05 / 12**0.5
# How much packing varies from build to build, relative, when fewer than three coupons tell: assumed by us,
# from memory, unverified.
ASSUMED_SCATTER = 0.015
_UNEVEN = 0.03  # shrinkage that differs by more than this between height and width was not free (chosen here)


@dataclass(frozen=True)
class Coupon:
    """One free coupon, green and fired, mm.

    shape : "disc" (height, diameter) or "bar" (height, width, length)
    green_mm, fired_mm : height first, then the other sizes in that order
    """

    shape: str
    green_mm: tuple[float, ...]
    fired_mm: tuple[float, ...]

    def __post_init__(self) -> None:
        wanted = {"disc": 2, "bar": 3}.get(self.shape)
        if wanted is None:
            raise BadInput(f'a coupon is a "disc" or a "bar", not "{self.shape}"')
        for sizes in (self.green_mm, self.fired_mm):
            if len(sizes) != wanted or not all(0 < s <= 100 for s in sizes):
                raise BadInput(
                    f"a {self.shape} needs {wanted} sizes over 0 and up to 100 mm, green and fired; "
                    f"got {sizes}"
                )

    @property
    def powers(self) -> tuple[int, ...]:
        """How often each size enters the volume."""
        return (1, 2) if self.shape == "disc" else (1, 1, 1)

    @property
    def volume_ratio(self) -> float:
        """Fired over green volume, unit 1."""
        pairs = zip(self.green_mm, self.fired_mm, self.powers, strict=True)
        return float(np.prod([(fired / green) ** power for green, fired, power in pairs]))

    @property
    def shrunk(self) -> tuple[float, float]:
        """Linear shrinkage in height and, as a mean, across, unit 1."""
        part = 1 - np.array(self.fired_mm) / np.array(self.green_mm)
        return float(part[0]), float(part[1:].mean())

    @property
    def was_held(self) -> bool:
        """Whether height and width shrank too differently for a free body."""
        up, across = self.shrunk
        return abs(up - across) > _UNEVEN

    @property
    def reading_doubt(self) -> float:
        """Relative standard deviation of volume_ratio from the calliper's reading, unit 1."""
        parts = [
            power * READING_SD_MM / size
            for sizes in (self.green_mm, self.fired_mm)
            for size, power in zip(sizes, self.powers, strict=True)
        ]
        return float(np.sqrt(np.sum(np.square(parts))))


@dataclass(frozen=True)
class ShrinkageFit:
    """What coupons tell about a powder as this bench packs it.

    green_relative_density  : best value, unit 1
    standard_error          : doubt of that value, unit 1
    build_sd                : standard deviation to expect of one build, unit 1
    volume_shrinkage, linear_shrinkage : free, unit 1
    coupons                 : how many
    notes                   : what is doubtful, in sentences
    """

    green_relative_density: float
    standard_error: float
    build_sd: float
    volume_shrinkage: float
    linear_shrinkage: float
    coupons: int
    notes: tuple[str, ...]


def fit_shrinkage(
    coupons: tuple[Coupon, ...], *, fired_relative_density: float, fired_doubt: float = 0.005
) -> ShrinkageFit:
    """Green density from free coupons by the mass they keep: green = fired density x fired / green volume.

    fired_relative_density, fired_doubt : of the fired coupons and its standard deviation, unit 1
    Coupons that did not shrink alike in all directions were not free and are left out. The value is the mean
    over the others. Its doubt joins, as squares, the calliper's reading (or the scatter
    between coupons where that is larger) over the number of coupons, and the doubt of the fired density.
    raises : BadInput without free coupons, or when they grew or shrank beyond anything porcelain does
    source : mass balance; ceramics texts give 27 to 45 % volume shrinkage (from memory, unverified)
    """
    if not coupons:
        raise BadInput("no coupon was given; measure at least one disc or bar before and after firing")
    ratios = np.array([c.volume_ratio for c in coupons])
    for number, ratio in enumerate(ratios, start=1):
        if not 0.4 <= ratio <= 0.9:
            raise BadInput(
                f"coupon {number} keeps {ratio:.0%} of its volume; porcelain keeps about 55 to 73 %. "
                "Check its sizes and which are green and which fired"
            )
    free = np.array([not coupon.was_held for coupon in coupons])
    if not free.any():
        raise BadInput(
            f"none of the {len(coupons)} coupons shrank freely, each lost more in one direction than in "
            "another; fire new ones loose on wadding, not stuck and not slumped"
        )
    told = _notes(coupons, few=int(free.sum()) < 3)
    coupons, ratios = tuple(c for c, is_free in zip(coupons, free, strict=True) if is_free), ratios[free]
    mean = float(ratios.mean())
    reading = float(np.sqrt(np.mean([c.reading_doubt**2 for c in coupons])))
    few = len(coupons) < 3
    scatter = ASSUMED_SCATTER if few else float(ratios.std(ddof=1) / mean)
    spread = max(reading, scatter)
    density = fired_relative_density * mean
    error = density * float(np.hypot(spread / len(coupons) ** 0.5, fired_doubt / fired_relative_density))
    build = density * float(np.sqrt(max(scatter**2 - reading**2, 0.0) if not few else scatter**2))
    return ShrinkageFit(density, error, build, 1 - mean, 1 - mean ** (1 / 3), len(coupons), told)


def _notes(coupons: tuple[Coupon, ...], *, few: bool) -> tuple[str, ...]:
    notes = []
    free = sum(not coupon.was_held for coupon in coupons)
    if few:
        notes.append(
            f"From {free} free coupon{'s' if free > 1 else ''} the scatter from build to build is "
            f"not known; {ASSUMED_SCATTER:.1%} is assumed. Measure three or more"
        )
    for number, coupon in enumerate(coupons, start=1):
        if coupon.was_held:
            up, across = coupon.shrunk
            notes.append(
                f"Coupon {number} shrank {up:.1%} in height and {across:.1%} across: it stuck to its support "
                "or slumped, so it was not free and is left out"
            )
    return tuple(notes)
