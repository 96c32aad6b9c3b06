"""What a crown gives its heat to after the hold: a shut muffle, an opened furnace, the bench."""

from dataclasses import dataclass

ROOM_DEGC = 25.0
_BENCH_FROM_K_PER_MIN = 150.0  # between the slow 30 and the fast 300 of doi 10.1016/j.dental.2021.08.019
BENCH_W_PER_M2K = 60.0  # bench; Kim et al. 2018, J Mech Behav Biomed Mater 82:202-209 (abstract)
FURNACE_W_PER_M2K = 17.0  # opened furnace, controlled; as above
BLAST_W_PER_M2K = 300.0  # compressed air, 200 to 400, from memory, unverified
_EMISSIVITY = 0.9  # of porcelain and muffle wall, from memory, unverified
_RADIATION_W_PER_M2K4 = 5.670374419e-8
_STILL_AIR_W_PER_M2K = 10.0  # natural convection, from memory, unverified


@dataclass(frozen=True)
class Leg:
    """A part of the way down.

    to_degC     : it ends when the porcelain's mean is as cool as this
    wall_K_per_min : the muffle's wall falls at this rate from where the leg begins; None in the room's air
    coefficient_W_per_m2K : for the room's air; in the shut muffle radiation decides
    """

    to_degC: float
    wall_K_per_min: float | None = None
    coefficient_W_per_m2K: float = BENCH_W_PER_M2K

    def exchange_W_per_m2K(self, degC: float) -> float:
        """Heat transfer coefficient at a mean temperature of the piece.

        In the shut muffle that of radiation between near temperatures, 4 e s T³, and of still air.
        """
        if self.wall_K_per_min is None:
            return self.coefficient_W_per_m2K
        return 4 * _EMISSIVITY * _RADIATION_W_PER_M2K4 * (degC + 273.15) ** 3 + _STILL_AIR_W_PER_M2K

    def ambient_degC(self, begun_degC: float, seconds_s: float) -> float:
        """Temperature of wall or air so many seconds after the leg began at begun_degC."""
        if self.wall_K_per_min is None:
            return ROOM_DEGC
        return max(begun_degC - self.wall_K_per_min / 60.0 * seconds_s, ROOM_DEGC)


@dataclass(frozen=True)
class Descent:
    """The way from the end of the hold to the bench: where it starts, degC, and its legs."""

    start_degC: float
    legs: tuple[Leg, ...]

    @property
    def is_slow(self) -> bool:
        """Whether it begins in the shut muffle."""
        return self.legs[0].wall_K_per_min is not None


def descent_of(start_degC: float, K_per_min: float | None, to_degC: float | None) -> Descent:
    """The way down of a programme: below 150 K/min in the shut muffle, else (or unknown) on the bench."""
    if K_per_min is None or to_degC is None or K_per_min >= _BENCH_FROM_K_PER_MIN:
        return Descent(start_degC, bench())
    return Descent(start_degC, slow(K_per_min, to_degC))


def bench(*, coefficient_W_per_m2K: float = BENCH_W_PER_M2K) -> tuple[Leg, ...]:
    """Out of the furnace at once, onto the bench (with another coefficient, elsewhere in the room's air)."""
    return (Leg(ROOM_DEGC, coefficient_W_per_m2K=coefficient_W_per_m2K),)


def slow(K_per_min: float, to_degC: float) -> tuple[Leg, ...]:
    """In the shut muffle, its wall falling at a rate, until the piece is at to_degC; then onto the bench."""
    return (Leg(to_degC, wall_K_per_min=K_per_min), *bench())


def rate_K_per_s(
    coefficient_W_per_m2K: float, degC: float, heat_J_per_mm2K: float, *, ambient_degC: float = ROOM_DEGC
) -> float:
    """Rate of a wall cooled on one side without a gradient in it: h (T - T_room) over its heat by area.

    heat_J_per_mm2K : heat capacity by volume times thickness, summed over the layers
    """
    return coefficient_W_per_m2K * 1e-6 * (degC - ambient_degC) / heat_J_per_mm2K
