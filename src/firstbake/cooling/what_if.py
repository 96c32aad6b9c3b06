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


def pull_of(stress: BallStress, kind: str) -> float:
    """The pull that a kind of crack feeds on, MPa: "surface", "inside" or "lifting"."""
    if kind == "surface":
        return float(stress.hoop_MPa[-1])
    if kind == "lifting":
        return float(stress.radial_MPa[0])
    return float(max(stress.hoop_MPa.max(), stress.radial_MPa.max()))


def pull_at(kind: str, place: Place, veneer: Solid, core: Solid, *, way: Descent) -> float:
    """Pull of a kind at a place by the round shell, MPa."""
    found = ball_stress(
        veneer,
        core,
        way.legs,
        inner_mm=place.inner_mm,
        wall_mm=place.wall_mm,
        thickness_mm=place.thickness_mm,
        start_degC=way.start_degC,
    )
    return pull_of(found, kind)


@dataclass(frozen=True)
class Swell:
    """How a pull changes with the expansions, exact because all of the sum is linear in them.

    now_MPa : as it is      per_veneer, per_core : MPa for one ppm/K more of porcelain or core
    """

    now_MPa: float
    per_veneer: float
    per_core: float


def swell_of(kind: str, place: Place, veneer: Solid, core: Solid, *, way: Descent) -> Swell:
    """Pull of a kind at a place and how it depends on both expansions."""
    now = pull_at(kind, place, veneer, core, way=way)
    more = replace(veneer, expansion_ppm_per_K=veneer.expansion_ppm_per_K + 1.0)
    under = replace(core, expansion_ppm_per_K=core.expansion_ppm_per_K + 1.0)
    return Swell(
        now,
        pull_at(kind, place, more, core, way=way) - now,
        pull_at(kind, place, veneer, under, way=way) - now,
    )


def helps(
    kind: str, place: Place, veneer: Solid, core: Solid, *, way: Descent, swell: Swell
) -> tuple[Help, ...]:
    """Changes that lower the pull of this kind at this place, the most useful first.

    Asked of a round shell (ball_stress): the order of size counts, not the last MPa.
    """
    now = swell.now_MPa
    other_way = replace(way, legs=bench() if way.is_slow else slow(*_SLOW))
    words = "take it out of the furnace at once" if way.is_slow else "cool slowly in the shut muffle"
    ways = [(words, pull_at(kind, place, veneer, core, way=other_way))]
    if place.thickness_mm > _THINNER_MM + 0.3:
        thin = replace(place, thickness_mm=place.thickness_mm - _THINNER_MM)
        held = replace(thin, wall_mm=place.wall_mm + _THINNER_MM)
        ways.append((f"{_THINNER_MM:g} mm less porcelain here", pull_at(kind, thin, veneer, core, way=way)))
        ways.append(
            (f"build the core up by {_THINNER_MM:g} mm here", pull_at(kind, held, veneer, core, way=way))
        )
    more = "less" if swell.per_veneer > 0 else "more"
    gained = now - _NEARER_PPM * abs(swell.per_veneer)
    ways.append((f"a powder that expands {_NEARER_PPM:g} ppm/K {more}", gained))
    gain = max(_LEAST_GAIN * abs(now), _FLOOR_MPa)
    found = [Help(told, now, after) for told, after in ways if now - after >= gain]
    return tuple(sorted(found, key=lambda h: h.after_MPa))
