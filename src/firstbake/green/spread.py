"""Smoothing a field over a surface by one implicit step of diffusion."""

import numpy as np
from scipy.sparse import coo_array, diags_array
from scipy.sparse.linalg import splu

from firstbake.mesh import Floats, Surface


def _edge_weights(surface: Surface) -> tuple[Floats, Floats, Floats]:
    """Start, end and half cotangent sum of every half-edge; obtuse angles count as right ones.

    source : the cotangent weights of Pinkall and Polthier 1993, Computing discrete minimal surfaces
    """
    starts, ends, weights = [], [], []
    for k in range(3):
        a, b, c = (surface.faces[:, (k + j) % 3] for j in range(3))
        u = surface.vertices_mm[a] - surface.vertices_mm[c]
        v = surface.vertices_mm[b] - surface.vertices_mm[c]
        sine = np.maximum(2 * surface.face_areas_mm2, 1e-12)
        cotangent = np.clip(np.einsum("ij,ij->i", u, v) / sine, 0.0, 10.0)
        starts.append(a)
        ends.append(b)
        weights.append(0.5 * cotangent)
    return np.concatenate(starts), np.concatenate(ends), np.concatenate(weights)


def spread(surface: Surface, field: Floats, reach_mm: Floats | float) -> Floats:
    """The field averaged over about reach_mm round each vertex; area-weighted sums are kept.

    field    : (n,) or (n, d) values at the vertices
    reach_mm : (n,) or one number, mm; each edge takes the smaller reach of its ends, so a vertex
               with reach 0 keeps its value and gives none away
    returns  : the same shape as field: (M + L) u = M field, M vertex areas, L the weighted Laplacian
    """
    count = len(surface.vertices_mm)
    reach = np.broadcast_to(np.asarray(reach_mm, dtype=np.float64), (count,))
    start, end, weight = _edge_weights(surface)
    weight = weight * np.minimum(reach[start], reach[end]) ** 2
    links = coo_array((weight, (start, end)), shape=(count, count)).tocsr()
    links = links + links.T
    area = np.maximum(surface.vertex_areas_mm2, 1e-9)
    system = (diags_array(area + np.asarray(links.sum(axis=1)).ravel()) - links).tocsc()
    values = field.reshape(count, -1)
    solver = splu(system, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    return np.asarray(solver.solve(area[:, None] * values)).reshape(field.shape)


def unit(directions: Floats, fallback: Floats) -> Floats:
    """Rows (n, 3) brought to length 1; where a row has none, the row of fallback."""
    length = np.linalg.norm(directions, axis=1, keepdims=True)
    return np.asarray(np.divide(directions, length, out=np.array(fallback), where=length > 1e-9))
