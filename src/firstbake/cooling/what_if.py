"""What would lower a stress: the same place as a round shell, asked again with one thing changed."""

from dataclasses import dataclass, replace

from firstbake.cooling.ball import BallStress, ball_stress
from firstbake.cooling.solid import Solid
from firstbake.cooling.surroundings import Descent, bench, slow

_SLOW = (30.0, 500.0)  # K/min, degC: slow in Rodrigues et al. 2021, doi 10.1016/j.dental.2021.08.019
_THINNER_MM = 0.5
_NEARER_PPM = 0.5
_LEAST_GAIN = 0.1  # a change that takes less than this off the pull is not offered
_FLOOR_MPa = 2.0
_FALL_K = 10.0  # steps of the round shell here: half a MPa off in the worst case, and quick


@dataclass(frozen=True)
class Place:
    """A place of a crown as a round shell: porcelain and wall, mm, on a core of this inner radius, mm."""

    thickness_mm: float
    wall_mm: float
    inner_mm: float


@dataclass(frozen=True)
class Help:
    """A change and what the round shell says of it: pull at this place before and after, MPa."""

    words: str
    before_MPa: float
    after_MPa: float


KINDS = ("surface", "inside", "lifting")


def pulls_of(stress: BallStress) -> dict[str, float]:
    """The pulls that the kinds of crack feed on, MPa: along the surface, along inside, square to the core."""
    hoop = stress.hoop_MPa
    return {
        "surface": float(hoop[-1]),
        "inside": float(hoop[:-1].max()),
        "lifting": float(stress.radial_MPa[0]),
    }


def pulls_at(place: Place, veneer: Solid, core: Solid, *, way: Descent) -> dict[str, float]:
    """Pulls at a place by the round shell, MPa, by kind."""
    found = ball_stress(
        veneer,
        core,
        way.legs,
        inner_mm=place.inner_mm,
        wall_mm=place.wall_mm,
        thickness_mm=place.thickness_mm,
        start_degC=way.start_degC,
        fall_K=_FALL_K,
    )
    return pulls_of(found)


@dataclass(frozen=True)
class Swell:
    """How the pulls of a place change with the expansions.

    The sum is linear in them, but "inside" takes the greatest of its pulls, so there the slope is near only.

    now_MPa : by kind, as it is      per_veneer, per_core : MPa for one ppm/K more of porcelain or core
    """

    now_MPa: dict[str, float]
    per_veneer: dict[str, float]
    per_core: dict[str, float]


def swell_of(place: Place, veneer: Solid, core: Solid, *, way: Descent) -> Swell:
    """Pulls at a place and how they depend on both expansions."""
    now = pulls_at(place, veneer, core, way=way)
    more = replace(veneer, expansion_ppm_per_K=veneer.expansion_ppm_per_K + 1.0)
    under = replace(core, expansion_ppm_per_K=core.expansion_ppm_per_K + 1.0)
    above, below = pulls_at(place, more, core, way=way), pulls_at(place, veneer, under, way=way)
    return Swell(
        now,
        {kind: above[kind] - now[kind] for kind in KINDS},
        {kind: below[kind] - now[kind] for kind in KINDS},
    )


def helps(
    kind: str, place: Place, veneer: Solid, core: Solid, *, way: Descent, swell: Swell
) -> tuple[Help, ...]:
    """Changes that lower the pull of this kind at this place, the most useful first.

    Asked of a round shell (ball_stress): the order of size counts, not the last MPa. What would raise another
    kind of pull there above both is not offered.
    """
    other_way = replace(way, legs=bench() if way.is_slow else slow(*_SLOW))
    words = "take it out of the furnace at once" if way.is_slow else "cool slowly in the shut muffle"
    ways = [(words, pulls_at(place, veneer, core, way=other_way))]
    if place.thickness_mm > _THINNER_MM + 0.3:
        thin = replace(place, thickness_mm=place.thickness_mm - _THINNER_MM)
        held = replace(thin, wall_mm=place.wall_mm + _THINNER_MM)
        ways.append((f"{_THINNER_MM:g} mm less porcelain here", pulls_at(thin, veneer, core, way=way)))
        ways.append((f"build the core up by {_THINNER_MM:g} mm here", pulls_at(held, veneer, core, way=way)))
    for step, more in ((-_NEARER_PPM, "less"), (_NEARER_PPM, "more")):
        after = {k: swell.now_MPa[k] + step * swell.per_veneer[k] for k in KINDS}
        ways.append((f"a powder that expands {_NEARER_PPM:g} ppm/K {more}", after))
    now = swell.now_MPa[kind]
    gain = max(_LEAST_GAIN * abs(now), _FLOOR_MPa)
    limit = max(swell.now_MPa.values())
    found = [
        Help(told, now, after[kind])
        for told, after in ways
        if now - after[kind] >= gain and max(after.values()) <= limit
    ]
    return tuple(sorted(found, key=lambda h: h.after_MPa))
