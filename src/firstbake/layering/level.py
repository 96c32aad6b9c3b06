"""The cut-back as a level function f: less than 0 in dentine and core, greater than 0 in enamel and outside.

With D and C the signed distances to contour and core, e the wanted enamel and m the least enamel at the foot
on the contour, I the height over the incisal profile and c the least cover of the core:

    f = max( lesser( greater(D + e, I), C - c ), D + min(e, m) )

Because D is exact, a point of f = 0 that only the enamel rule governs lies exactly e below the contour.
The feet jump where two sides of the contour are equally near, and e may jump with them; there (seam near 1)
the two rules at heart of f give way to their own average over the neighbouring grid nodes.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from firstbake.layering.blend import greater_of, lesser_of, smooth_step
from firstbake.layering.cut_back import CutBack
from firstbake.layering.enamel import Site, least_mm, profile_mm, wanted_mm
from firstbake.layering.reading import Reading
from firstbake.mesh import Floats, Grid

_JUMP_STEPS = 2.5
_SEAM_GAIN = 1.6
_NO_SEAM = 1e-3


@dataclass(frozen=True, eq=False)
class Asked:
    """What the rules say at p points, (p,) mm each.

    enamel_mm : wanted enamel         least_mm : least enamel, no more than wanted
    cover_mm  : least cover of the core             heart_mm : lesser( greater(D + e, I), C - c )
    """

    enamel_mm: Floats
    least_mm: Floats
    cover_mm: Floats
    heart_mm: Floats


def ask(reading: Reading, site: Site, rules: CutBack) -> Asked:
    """Evaluate the rules at the points of a reading."""
    least, cover = least_mm(site, rules)
    enamel, least, cover = reading.at_foot(np.column_stack([wanted_mm(site, rules), least, cover])).T
    heart = reading.contour_mm + enamel
    if rules.tip_mm > 0:
        over_edge = reading.height_mm - profile_mm(site, rules, reading.across)
        heart = greater_of(heart, over_edge, rules.blend_mm)
    heart = lesser_of(heart, reading.core_mm - cover, 0.5 * rules.blend_mm)
    return Asked(enamel, np.minimum(enamel, least), cover, heart)


def finish(reading: Reading, asked: Asked, heart_mm: Floats) -> Floats:
    """(p,) f, mm: heart_mm held to the least cover of the core and then to the least enamel."""
    held = np.minimum(heart_mm, reading.core_mm - asked.cover_mm)
    return np.asarray(np.maximum(held, reading.contour_mm + asked.least_mm))


def alone(reading: Reading, site: Site, rules: CutBack, *, seam: Floats) -> NDArray[np.bool_]:
    """(p,) True where points near f = 0 are governed by the wanted enamel alone, outside every blend."""
    asked = ask(reading, site, rules)
    inner = reading.contour_mm + asked.enamel_mm
    free = (reading.core_mm - asked.cover_mm - inner > 0.5 * rules.blend_mm) & (seam < _NO_SEAM)
    if rules.tip_mm > 0:
        over_edge = reading.height_mm - profile_mm(site, rules, reading.across)
        free &= inner - over_edge > rules.blend_mm
    return np.asarray(free)


def seams_of(grid: Grid, active: NDArray[np.int64], foot_mm: Floats) -> Floats:
    """(nodes,) near 1 where the feet of neighbouring nodes lie far apart, 0 three nodes away from there.

    foot_mm : (a, 3) feet of the active nodes
    """
    nx, ny, nz = grid.counts
    feet = np.full((nx * ny * nz, 3), np.nan)
    feet[active] = foot_mm
    cube = feet.reshape(nz, ny, nx, 3)
    jumps = np.zeros((nz, ny, nx))
    for axis in range(3):
        first = tuple(slice(None, -1) if k == axis else slice(None) for k in range(3))
        second = tuple(slice(1, None) if k == axis else slice(None) for k in range(3))
        apart = np.linalg.norm(cube[first] - cube[second], axis=-1) > _JUMP_STEPS * grid.step_mm
        jumps[first] = np.maximum(jumps[first], apart)
        jumps[second] = np.maximum(jumps[second], apart)
    return smooth_step(_SEAM_GAIN * averaged(grid, jumps.ravel()))


def averaged(grid: Grid, values: Floats) -> Floats:
    """(nodes,) values averaged over the neighbours with a bell of one step."""
    nx, ny, nz = grid.counts
    cube = gaussian_filter(values.reshape(nz, ny, nx), 1.0, mode="nearest", truncate=2.5)
    return np.asarray(cube).ravel()
