"""Which powder lies where in a meshed veneer, and how densely it is packed."""

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstbake.fem import VeneerMesh
from firstbake.layering import Layers
from firstbake.mesh import Floats, Surface, nearest

_INNER = 0.5  # sample points stand half way from the middle of a tetrahedron to its corners


def end_density(layers: Layers) -> float:
    """Mean relative density after firing, by volume, unit 1."""
    volumes = np.array([layer.volume_mm3 for layer in layers.layers])
    fired = np.array([layer.powder.fired_relative_density.value for layer in layers.layers])
    return float(volumes @ fired / volumes.sum())


def packed_densities(
    mesh: VeneerMesh,
    contour: Surface,
    layers: Layers,
    *,
    swollen: Floats | None = None,
    shift_sd: float = 0.0,
    sds: Floats | None = None,
) -> Floats:
    """(e,) green relative density of the powder in each tetrahedron, unit 1.

    A sample point belongs to the column of the nearest contour vertex and, in it, to the layer at the same
    share of the height above the core. Five samples a tetrahedron, so that thin layers count by their share.
    contour  : vertex for vertex that of the layers, in the state that was meshed
    swollen  : (m,) factor on each layer's thickness in that state: the volume factors for a green body, ones
               (None) for a fired one
    shift_sd : packed this many standard deviations denser than the cards say; sds : (m,) those deviations
    """
    values = np.array([layer.powder.green_relative_density.value for layer in layers.layers])
    if sds is not None:
        values = values + shift_sd * sds
    if np.ptp(values) < 1e-12:
        return np.full(len(mesh.tets), values[0])
    samples = _samples(mesh)
    row = _layer_at(samples.reshape(-1, 3), contour, layers, mesh=mesh, swollen=swollen)
    return np.asarray(values[row].reshape(samples.shape[:2]).mean(axis=1))


def _samples(mesh: VeneerMesh) -> Floats:
    corners = mesh.nodes_mm[mesh.tets]
    middle = corners.mean(axis=1, keepdims=True)
    return np.concatenate([middle, middle + _INNER * (corners - middle)], axis=1)


def _layer_at(
    points: Floats, contour: Surface, layers: Layers, *, mesh: VeneerMesh, swollen: Floats | None
) -> NDArray[np.int64]:
    """(p,) number of the layer at each point."""
    core = mesh.core
    thickness = np.vstack([np.maximum(layer.thickness_mm, 0.0) for layer in layers.layers])
    if swollen is not None:
        thickness = thickness * swollen[:, None]
    there = np.flatnonzero(thickness.sum(axis=0) > 1e-9)
    _, near = cKDTree(contour.vertices_mm[there]).query(points)
    tops = np.cumsum(thickness[:, there[near]], axis=0)
    height = np.zeros(len(points)) if core is None else nearest(core, points).distance_mm
    depth = nearest(contour, points).distance_mm
    share = height / np.maximum(height + depth, 1e-9)
    return np.asarray(np.minimum((share[None] > tops / tops[-1]).sum(axis=0), len(thickness) - 1))
