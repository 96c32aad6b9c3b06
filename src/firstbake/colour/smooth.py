"""A reflectance spectrum for a colour that is known as CIELAB only."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.colour.observer import weights_of, xyz_from_lab
from firstbake.errors import BadInput

Floats = NDArray[np.float64]

_ROUNDS = 60
_SLACK = 1e-10


def smooth_reflectance(lab: ArrayLike) -> Floats:
    """(31,) the smoothest reflectance from 0 to 1 that has exactly this colour under D65.

    Used for a stump, or any ground whose colour is given as CIELAB and not as a spectrum. Many spectra share
    one colour; this is the plainest of them, not a measurement, and what shines through from it is as good
    as that guess.

    lab    : (3,) CIELAB, D65, 2 degree observer
    method : least sum of squared second differences subject to the three tristimulus values and the bounds,
             by an active set on the optimality conditions
    raises : BadInput when no reflectance from 0 to 1 has that colour, or it lies on the very limit
    """
    wanted = np.asarray(lab, dtype=np.float64)
    if wanted.shape != (3,) or not np.isfinite(wanted).all():
        raise BadInput(f"a colour needs three numbers L*, a*, b*; got {np.array2string(wanted)}")
    weights = weights_of("D65")
    xyz = xyz_from_lab(wanted)
    bend = np.diff(np.eye(len(weights)), n=2, axis=0)
    found = _bounded(bend.T @ bend, weights.T, xyz)
    if found is None:
        raise BadInput(
            f"no surface was found that can have the colour L* {wanted[0]:.1f}, a* {wanted[1]:.1f}, "
            f"b* {wanted[2]:.1f}; check its three numbers"
        )
    return found


def _bounded(hessian: Floats, rows: Floats, values: Floats) -> Floats | None:
    """Least r H r subject to rows @ r = values and 0 <= r <= 1, or None when there is no such r."""
    size = len(hessian)
    low, high = np.zeros(size, dtype=bool), np.zeros(size, dtype=bool)
    for _ in range(_ROUNDS):
        free = ~(low | high)
        r = high.astype(np.float64)
        solution = _free_part(hessian, rows, values, free=free, fixed=r)
        if solution is None:
            return None
        r[free], pull = solution
        push = hessian @ r + rows.T @ pull
        new_low = (free & (r < -_SLACK)) | (low & (push >= 0))
        new_high = (free & (r > 1 + _SLACK)) | (high & (push <= 0))
        if np.array_equal(low, new_low) and np.array_equal(high, new_high):
            return np.clip(r, 0.0, 1.0)
        low, high = new_low, new_high
    return None


def _free_part(
    hessian: Floats, rows: Floats, values: Floats, *, free: NDArray[np.bool_], fixed: Floats
) -> tuple[Floats, Floats] | None:
    """The free values and the three multipliers, or None when too few values are left free."""
    count, wanted = int(free.sum()), len(values)
    if count < wanted:
        return None
    matrix = np.zeros((count + wanted, count + wanted))
    matrix[:count, :count] = hessian[np.ix_(free, free)]
    matrix[:count, count:] = rows[:, free].T
    matrix[count:, :count] = rows[:, free]
    right = np.concatenate([-(hessian @ fixed)[free], values - rows @ fixed])
    answer, _, rank, _ = np.linalg.lstsq(matrix, right, rcond=None)
    if rank < count + wanted or not np.allclose(matrix @ answer, right, atol=1e-8):
        return None
    return answer[:count], answer[count:]
