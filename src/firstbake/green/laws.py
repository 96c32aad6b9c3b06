"""Column laws: how high a column of green powder must be so that it fires to a wanted height.

A column stands on a patch of core with principal curvatures k1, k2 (1/mm, greater than 0 where the core
is convex). Porcelain between the core and the height t above it fills, for each mm² of core,

    V(t) = t + (k1 + k2) / 2 · t² + k1 k2 / 3 · t³        (mm)

which is Steiner's formula for parallel surfaces (J. Steiner 1840, Über parallele Flächen). A bonded
layer cannot slide on its core, so all of its volume loss is taken up along the column: with the same
mass green and fired, V(green height) = f · V(fired height), f = fired over green relative density.
A body far from its core is free: it shrinks alike in all directions, V(t) goes as t³ about the foot.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.errors import BadSum
from firstbake.mesh import Floats

MOST_FILLED = 0.9
"""Largest share of a hollow's whole volume (up to where columns meet) that a green column may take, unit 1.

A choice of this project: above it the green height runs away from the fired one (judgement, no source)."""


def column_volume_mm(height_mm: ArrayLike, k1_per_mm: ArrayLike, k2_per_mm: ArrayLike) -> Floats:
    """Volume of columns over one mm² of core, mm (mm³ per mm²). All arguments broadcast together."""
    t = np.asarray(height_mm, dtype=np.float64)
    k1, k2 = np.asarray(k1_per_mm, dtype=np.float64), np.asarray(k2_per_mm, dtype=np.float64)
    return np.asarray(t * (1.0 + t * (0.5 * (k1 + k2) + t * (k1 * k2 / 3.0))))


def fold_height_mm(k1_per_mm: ArrayLike, k2_per_mm: ArrayLike) -> Floats:
    """Height at which neighbouring columns meet over a concave core, mm; inf where it is nowhere concave.

    A hollow of more than a kilometre's radius counts as flat.
    """
    hollow = np.maximum(-np.minimum(np.asarray(k1_per_mm), np.asarray(k2_per_mm)), 0.0)
    return np.asarray(np.divide(1.0, hollow, out=np.full(np.shape(hollow), np.inf), where=hollow > 1e-9))


def column_height_mm(volume_mm: ArrayLike, k1_per_mm: ArrayLike, k2_per_mm: ArrayLike) -> Floats:
    """Height of columns of a given volume: the inverse of column_volume_mm below the fold.

    volume_mm : (n,) mm³ per mm² of core; 0 and less give 0
    returns   : (n,) mm, to about 1e-14 relative (Newton's steps kept inside a shrinking bracket)
    raises    : BadSum when a hollow core cannot hold the volume before its columns meet
    """
    volume, k1, k2 = (np.array(a) for a in np.broadcast_arrays(volume_mm, k1_per_mm, k2_per_mm))
    volume = np.maximum(volume.astype(np.float64), 0.0)
    fold = fold_height_mm(k1, k2)
    finite = np.isfinite(fold)
    room = np.where(finite, column_volume_mm(np.where(finite, fold, 0.0), k1, k2), np.inf)
    if (volume > room).any():
        raise BadSum(
            f"{int((volume > room).sum())} green columns do not fit into the hollows of the core below them; "
            "smooth the core there or make the layer thinner"
        )
    # V(t) >= t where nothing is hollow, hardly less where a hollow counts as flat; else the fold is the end.
    low, high = np.zeros(volume.shape), np.where(finite, fold, 1.001 * volume)
    height = np.minimum(volume, 0.5 * high + 0.5 * np.minimum(volume, high))
    for _ in range(200):
        miss = column_volume_mm(height, k1, k2) - volume
        low, high = np.where(miss <= 0, height, low), np.where(miss >= 0, height, high)
        slope = (1.0 + k1 * height) * (1.0 + k2 * height)
        step = height - np.divide(miss, slope, out=np.full(height.shape, np.inf), where=slope > 0)
        inside = (step >= low) & (step <= high)
        following = np.where(inside, step, 0.5 * (low + high))
        if np.all(np.abs(following - height) <= 4e-16 * np.maximum(height, 1e-300)):
            return np.asarray(following)
        height = following
    return np.asarray(height)


def green_heights_mm(
    heights_mm: Floats, factors: ArrayLike, k1_per_mm: ArrayLike, k2_per_mm: ArrayLike
) -> Floats:
    """Green heights of every interface of bonded columns made of several powders.

    heights_mm : (m, n) fired heights of the m interfaces above the core, from the core outward, mm
    factors    : (m,) green over fired volume of each layer's powder, unit 1
    k1_per_mm, k2_per_mm : (n,) curvatures of the core at the foot, 1/mm
    returns    : (m, n) green heights, mm; each layer's mass is conserved
    raises     : BadSum as column_height_mm
    """
    filled = column_volume_mm(np.maximum(heights_mm, 0.0), k1_per_mm, k2_per_mm)
    share = np.diff(filled, axis=0, prepend=np.zeros((1, filled.shape[1])))
    green = np.cumsum(np.asarray(factors, dtype=np.float64)[:, None] * share, axis=0)
    return column_height_mm(green, k1_per_mm, k2_per_mm)


def free_heights_mm(heights_mm: Floats, factors: ArrayLike) -> Floats:
    """Green heights of every interface where the porcelain is free: t³ about the foot, mass conserved.

    heights_mm : (m, n) fired heights, mm     factors : (m,) green over fired volume
    returns    : (m, n) mm; with one powder every height grows by the cube root of its factor
    """
    cubes = np.maximum(heights_mm, 0.0) ** 3
    share = np.diff(cubes, axis=0, prepend=np.zeros((1, cubes.shape[1])))
    return np.asarray(np.cbrt(np.cumsum(np.asarray(factors, dtype=np.float64)[:, None] * share, axis=0)))


def free_linear_shrinkage(volume_shrinkage: float) -> float:
    """Linear shrinkage of a free body from its volume shrinkage, both unit 1."""
    return 1.0 - float(np.cbrt(1.0 - volume_shrinkage))


def usable_curvatures(
    k1_per_mm: Floats, k2_per_mm: Floats, heights_mm: Floats, factor: float
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Curvatures with hollows opened just so far that the green column fits.

    heights_mm : (n,) fired height of the whole column, mm     factor : largest green over fired volume
    returns    : k1, k2 (n,) 1/mm, and (n,) True where a concave curvature had to be reduced
    """
    height = np.maximum(heights_mm, 0.0)

    def fits(share: Floats) -> NDArray[np.bool_]:
        a, b = (np.where(k < 0, share * k, k) for k in (k1_per_mm, k2_per_mm))
        fold = fold_height_mm(a, b)
        finite = np.isfinite(fold)
        room = np.where(finite, column_volume_mm(np.where(finite, fold, 0.0), a, b), np.inf)
        return np.asarray((height < fold) & (factor * column_volume_mm(height, a, b) <= MOST_FILLED * room))

    low, high = np.zeros(height.shape), np.ones(height.shape)
    tight = ~fits(high)
    for _ in range(50 if tight.any() else 0):
        middle = 0.5 * (low + high)
        good = fits(middle)
        low, high = np.where(good, middle, low), np.where(good, high, middle)
    share = np.where(tight, low, 1.0)
    k1, k2 = (np.where(k < 0, share * k, k) for k in (k1_per_mm, k2_per_mm))
    return k1, k2, tight


def smoothstep(share: ArrayLike) -> Floats:
    """0 up to 0, 1 from 1 on, 3x² - 2x³ between."""
    x = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0)
    return np.asarray(x * x * (3.0 - 2.0 * x))
