"""The furnace temperature of one bake against time."""

import numpy as np
from numpy.typing import NDArray

from firstbake.firing.programme import Programme

Floats = NDArray[np.float64]

_S_PER_MIN = 60.0


def temperature_curve(programme: Programme, *, start_degC: float = 25.0) -> tuple[Floats, Floats]:
    """Corners of the temperature of the piece against time, (k,) s and (k,) degC, for a chart.

    Drying runs straight from start_degC to dry_degC (the tray is moved nearer bit by bit); a bake without
    drying begins at dry_degC. Cooling is drawn where the programme gives it in numbers.
    """
    time_s, degC = [0.0], [start_degC if programme.dry_s > 0.0 else programme.dry_degC]
    if programme.dry_s > 0.0:
        time_s.append(programme.dry_s)
        degC.append(programme.dry_degC)
    climb_s = (programme.peak_degC - programme.dry_degC) / programme.climb_K_per_min * _S_PER_MIN
    time_s.append(time_s[-1] + climb_s)
    degC.append(programme.peak_degC)
    if programme.hold_s > 0.0:
        time_s.append(time_s[-1] + programme.hold_s)
        degC.append(programme.peak_degC)
    if programme.cool_K_per_min is not None and programme.cool_to_degC is not None:
        fall_K = programme.peak_degC - programme.cool_to_degC
        time_s.append(time_s[-1] + fall_K / programme.cool_K_per_min * _S_PER_MIN)
        degC.append(programme.cool_to_degC)
    return np.array(time_s), np.array(degC)
