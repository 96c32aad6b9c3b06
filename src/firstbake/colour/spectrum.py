"""The wavelength grid of the room, and the Lagrange operator that brings other grids to it."""

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadCard

Floats = NDArray[np.float64]

_GRID_NM = np.arange(400.0, 701.0, 10.0)
_GRID_NM.setflags(write=False)

#: Widest step, nm, that still interpolates without visible loss (common practice: 20 nm at most).
WIDEST_STEP_NM = 20.0


def grid_nm() -> Floats:
    """(31,) 400 to 700 nm at 10 nm: the grid of every spectrum in this room, read-only."""
    return _GRID_NM


def lagrange_operator(nodes_nm: Floats, wanted_nm: Floats) -> Floats:
    """(w, k) matrix that takes values at k nodes to w wanted wavelengths.

    nodes_nm : (k,) rising, k at least 3      wanted_nm : (w,)
    method   : cubic Lagrange through the two nodes on each side, quadratic in the first and last interval,
               the end value repeated beyond the ends (the convention of ASTM E2022; from memory, unverified)
    """
    nodes = np.asarray(nodes_nm, dtype=np.float64)
    wanted = np.clip(np.asarray(wanted_nm, dtype=np.float64), nodes[0], nodes[-1])
    last = len(nodes) - 1
    left = np.clip(np.searchsorted(nodes, wanted, side="right") - 1, 0, last - 1)
    operator = np.zeros((len(wanted), len(nodes)))
    for row, (x, k) in enumerate(zip(wanted, left, strict=True)):
        members = np.arange(max(k - 1, 0), min(k + 2, last) + 1)
        for j in members:
            others = members[members != j]
            operator[row, j] = np.prod((x - nodes[others]) / (nodes[j] - nodes[others]))
    return operator


def on_grid(wavelength_nm: Floats, values: Floats, *, what: str) -> Floats:
    """(..., 31) values brought to the grid of this room.

    wavelength_nm : (k,) rising, nm     values : (..., k)     what : name for the error sentence
    raises : BadCard when the wavelengths do not rise, do not reach from 400 to 700 nm, or lie more than
             20 nm apart, or when a value is not finite
    """
    nm = np.asarray(wavelength_nm, dtype=np.float64)
    found = np.asarray(values, dtype=np.float64)
    if nm.ndim != 1 or len(nm) < 3 or found.shape[-1:] != nm.shape:
        raise BadCard(f"{what}: the spectrum needs one value for each of at least 3 wavelengths")
    if not (np.isfinite(nm).all() and np.isfinite(found).all()):
        raise BadCard(f"{what}: the spectrum has values that are not numbers")
    step = np.diff(nm)
    if (step <= 0).any():
        raise BadCard(f"{what}: the wavelengths must rise from row to row")
    if nm[0] > _GRID_NM[0] or nm[-1] < _GRID_NM[-1]:
        raise BadCard(f"{what}: the spectrum covers {nm[0]:g} to {nm[-1]:g} nm; 400 to 700 nm are needed")
    if step.max() > WIDEST_STEP_NM + 1e-9:
        raise BadCard(f"{what}: the wavelengths are {step.max():g} nm apart; 20 nm is the widest that works")
    if nm.shape == _GRID_NM.shape and np.array_equal(nm, _GRID_NM):
        return found
    return np.asarray(found @ lagrange_operator(nm, _GRID_NM).T)
