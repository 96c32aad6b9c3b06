"""Heat work: the one number that adds up a programme, and all firings of a crown."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadSum
from firstbake.fem import Glass
from firstbake.powder import Powder, Viscosity, viscosity_of

Floats = NDArray[np.float64]

_PIECE_K, _PIECE_S = 5.0, 120.0
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(4)


@dataclass(frozen=True)
class Ripening:
    """What decides how fast a powder's glass sinters: its viscosity, and surface tension and grains."""

    viscosity: Viscosity
    glass: Glass

    def rounding_um(self, work: float) -> float:
        """How far surface tension drives a sharp edge back during this heat work, um.

        gamma times the integral of dt / viscosity: the capillary speed summed up; an edge's own factor is
        about one.
        """
        return 4.0 / 9.0 * self.glass.grain_radius_um * work


def ripening_of(powder: Powder) -> Ripening:
    """From a card's surface_tension_N_per_m, grain_radius_um and viscosity; what it lacks is usual."""
    names = ("surface_tension_N_per_m", "grain_radius_um")
    own = {name: powder.thermal[name].value for name in names if name in powder.thermal}
    return Ripening(viscosity_of(powder), Glass(**own))


def flow_per_Pa(time_s: Floats, degC: Floats, viscosity: Viscosity) -> float:
    """Integral of dt / viscosity along a polyline of temperature, 1/Pa (Gauss points in pieces of 5 K).

    time_s, degC : (k,) corners, times not falling        raises : BadSum when times fall or sizes differ
    """
    time, temperature = np.asarray(time_s, dtype=np.float64), np.asarray(degC, dtype=np.float64)
    if time.shape != temperature.shape or (np.diff(time) < 0).any():
        raise BadSum("a programme needs a temperature for each time, and times that do not fall")
    total = 0.0
    for (t0, a), (t1, b) in pairwise(zip(time, temperature, strict=True)):
        if t1 <= t0:
            continue
        pieces = int(max(np.ceil(abs(b - a) / _PIECE_K), np.ceil((t1 - t0) / _PIECE_S), 1))
        middle = (np.arange(pieces)[:, None] + 0.5 + 0.5 * _NODES) / pieces
        fluid = 1.0 / viscosity.at(a + (b - a) * middle)
        total += float((fluid @ _WEIGHTS).sum()) * (t1 - t0) / (2 * pieces)
    return total


def heat_work(time_s: Floats, degC: Floats, ripening: Ripening) -> float:
    """X = (9/4) (gamma / r0) times the integral of dt / viscosity, unit 1, along a polyline of temperature.

    source : Skorohod and Olevsky's law for a free body, porosity' = -3 stress porosity / (4 viscosity) with
             3 gamma / r0 (Olevsky 1998, Mater. Sci. Eng. R 23, 41; Lester 2017, doi 10.2172/1411315); it is
             the scaled time of the sintering model (fem.Glass.tau_of)
    """
    return ripening.glass.tau_of(flow_per_Pa(time_s, degC, ripening.viscosity), 1.0)
