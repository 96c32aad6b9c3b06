"""Principal curvatures of a surface."""

import igl
import numpy as np
from numpy.typing import NDArray

from firstbake.mesh.patches import edges_of, sub_surface
from firstbake.mesh.surface import Floats, Surface

_RINGS = 3  # rings of neighbours in each fit; chosen on spheres and cylinders (tests), no published source


def principal_curvatures(surface: Surface) -> tuple[Floats, Floats]:
    """Greatest and least curvature at every vertex, 1/mm, greater than 0 where the surface is convex.

    A quadric is fitted to the rings of neighbours of each vertex (libigl; method of Panozzo et al. 2010,
    Efficient quadrature-free curvature estimation). Where the fit fails, the mean of the neighbours
    stands in; a vertex that no face uses has curvature 0.

    returns : (k1, k2), each (n,), k1 >= k2
    """
    part, old = sub_surface(surface, surface.face_areas_mm2 > 0)
    _, _, first, second, bad = igl.principal_curvature(
        np.array(part.vertices_mm), np.array(part.faces, dtype=np.int64), _RINGS, True
    )
    fitted = np.column_stack([np.asarray(first).ravel(), np.asarray(second).ravel()])
    fitted[np.asarray(bad, dtype=np.int64)] = np.nan
    fitted[~np.isfinite(fitted).all(axis=1)] = np.nan
    values = np.full((len(surface.vertices_mm), 2), np.nan)
    values[old] = fitted
    values = _filled(surface, values)
    return values.max(axis=1), values.min(axis=1)


def _filled(surface: Surface, values: Floats) -> Floats:
    """The values with NaN rows replaced, ring by ring, by the mean of the known neighbours; else 0."""
    edges = edges_of(surface.faces)
    start, end = np.vstack([edges, edges[:, ::-1]]).T
    values = values.copy()
    missing: NDArray[np.bool_] = np.isnan(values[:, 0])
    while missing.any():
        useful = missing[start] & ~missing[end]
        if not useful.any():
            break
        weight, total = np.zeros(len(values)), np.zeros_like(values)
        np.add.at(weight, start[useful], 1.0)
        np.add.at(total, start[useful], values[end[useful]])
        ready = weight > 0
        values[ready] = total[ready] / weight[ready, None]
        missing = missing & ~ready
    return np.where(np.isnan(values), 0.0, values)
