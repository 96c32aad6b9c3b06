"""From the nearest stack on the grid to the nearest of all: Newton steps on the simplex of one room.

All stacks are polished side by side: the thicknesses of a stack add up to its room and stay within their
limits, the slope of the colour is exact, and the curvature is that of the colour difference alone
(Gauss-Newton). scipy's SLSQP, one stack after the other, finds the same colours (checked in the tests) but
takes a hundred times as long for sixty sets.
"""

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import delta_e00
from firstbake.recipe.batch import Batch, labs_and_slopes

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_STEPS = 14
_AT_BOUND_MM = 1e-7
_LAB_STEP = 1e-3
_METRIC_STEP = 0.05
_DAMP_FIRST, _DAMP_LAST = 1e-3, 1e3
_LEAST_GAIN = 1e-3
_LEAST_DIFFERENCE = 0.01


def metric_of(targets: Floats) -> Floats:
    """(p, 3, 3) half the curvature of the squared CIEDE2000 at each target, which is its local measure."""
    eye = _METRIC_STEP * np.eye(3)
    shift = np.concatenate([eye, eye[[0, 0, 1]] + eye[[1, 2, 2]]])
    square = delta_e00(targets[:, None] + shift, targets[:, None]) ** 2 / _METRIC_STEP**2
    metric = np.zeros((len(targets), 3, 3))
    for k in range(3):
        metric[:, k, k] = square[:, k]
    for k, (i, j) in enumerate(((0, 1), (0, 2), (1, 2))):
        metric[:, i, j] = metric[:, j, i] = 0.5 * (square[:, 3 + k] - square[:, i] - square[:, j])
    return metric


def polish(batch: Batch, slots_mm: Floats, *, targets: Floats, least_mm: Floats, most_mm: Floats) -> Floats:
    """(p, 6) thickness by role, mm, nearer to the target than slots_mm and with the same sum.

    slots_mm : (p, 6) start, within its limits      targets : (p, 3) CIELAB
    least_mm, most_mm : (p, 6) limits; equal where a thickness must stay
    """
    now = slots_mm.copy()
    going = np.arange(len(now))
    metric, damp = metric_of(targets), np.full(len(now), _DAMP_FIRST)
    lab, slope = labs_and_slopes(batch, now)
    value = delta_e00(lab, targets) ** 2
    for _ in range(_STEPS):
        going = going[(value[going] > _LEAST_DIFFERENCE**2) & (damp[going] < _DAMP_LAST)]
        if not len(going):
            break
        part, wanted = batch.rows(going), targets[going]
        step = _step(
            now[going],
            part.slots_slope(slope[going]),
            _pull(lab[going], wanted),
            metric=metric[going],
            damp=damp[going],
            least=least_mm[going],
            most=most_mm[going],
        )
        tried = now[going] + step
        tried_lab, tried_slope = labs_and_slopes(part, tried)
        tried_value = delta_e00(tried_lab, wanted) ** 2
        better = tried_value < value[going]
        slow = tried_value > (1.0 - _LEAST_GAIN) * value[going]
        damp[going] = np.where(better, np.where(slow, _DAMP_LAST, damp[going] / 5.0), damp[going] * 8.0)
        taken = going[better]
        now[taken], lab[taken], slope[taken] = tried[better], tried_lab[better], tried_slope[better]
        value[taken] = tried_value[better]
    return now


def _pull(lab: Floats, targets: Floats) -> Floats:
    """(p, 3) half the slope of the squared CIEDE2000 in L*, a*, b*, by central differences."""
    shift = _LAB_STEP * np.concatenate([np.eye(3), -np.eye(3)])
    square = delta_e00(lab[:, None] + shift, targets[:, None]) ** 2
    return np.asarray((square[:, :3] - square[:, 3:]) / (4.0 * _LAB_STEP))


def _step(
    now: Floats, jacobian: Floats, pull: Floats, *, metric: Floats, damp: Floats, least: Floats, most: Floats
) -> Floats:
    """(p, 6) damped Newton step that keeps the sum and ends at the first limit it meets."""
    gradient = np.einsum("pqk,pk->pq", jacobian, pull)
    curvature = np.einsum("pqk,pkl,prl->pqr", jacobian, metric, jacobian)
    free = _free(now, gradient, least=least, most=most)
    size = now.shape[1]
    scale = np.trace(curvature, axis1=1, axis2=2) + 1e-9
    system = np.zeros((len(now), size + 1, size + 1))
    both = free[:, :, None] & free[:, None, :]
    system[:, :size, :size] = np.where(both, curvature, 0.0)
    diagonal = np.where(free, (damp * scale)[:, None], 1.0)
    system[:, np.arange(size), np.arange(size)] += diagonal
    system[:, :size, size] = system[:, size, :size] = free
    system[:, size, size] = np.where(free.any(axis=1), 0.0, 1.0)
    right = np.concatenate([np.where(free, -gradient, 0.0), np.zeros((len(now), 1))], axis=1)
    step = np.linalg.solve(system, right[..., None])[:, :size, 0]
    return _shortened(now, np.where(free, step, 0.0), least=least, most=most)


def _free(now: Floats, gradient: Floats, *, least: Floats, most: Floats) -> Bools:
    """Which thicknesses may move: not those at a limit that the slope would push beyond it."""
    low, high = now <= least + _AT_BOUND_MM, now >= most - _AT_BOUND_MM
    inside = ~low & ~high
    count = inside.sum(axis=1)
    middle = np.where(inside, gradient, 0.0).sum(axis=1) / np.maximum(count, 1)
    off = gradient - middle[:, None]
    free = inside | (low & ~high & (off < 0)) | (high & ~low & (off > 0))
    return np.asarray(free & (free.sum(axis=1) > 1)[:, None])


def _shortened(now: Floats, step: Floats, *, least: Floats, most: Floats) -> Floats:
    room = np.where(step > 0, most - now, now - least)
    share = np.divide(room, np.abs(step), out=np.ones_like(step), where=np.abs(step) > 1e-12)
    return np.asarray(step * np.clip(share.min(axis=1), 0.0, 1.0)[:, None])
