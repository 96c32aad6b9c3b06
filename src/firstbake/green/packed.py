"""What a build is laid on, which powder lies where in its mesh, and how densely it is packed."""

import numpy as np
from scipy.spatial import cKDTree

from firstbake.case import Case
from firstbake.fem import VeneerMesh
from firstbake.layering import Layers
from firstbake.mesh import Floats, Surface, nearest

_APART = 1e-7  # corner values are told apart by this much, so that no difference is 0


def end_density(layers: Layers) -> float:
    """Mean relative density after firing of what the main bake fires, by volume, unit 1."""
    soft = _soft(layers)
    volumes = np.array([layers.layers[row].volume_mm3 for row in soft])
    fired = np.array([layers.layers[row].powder.fired_relative_density.value for row in soft])
    return float(volumes @ fired / volumes.sum())


def ground_of_build(case: Case, layers: Layers) -> Surface:
    """What the build is laid on: the core, or the liner or opaque that was fired on it before.

    Each vertex of the core is moved out by the thickness of these layers at the nearest contour vertex.
    """
    core, contour = case.core.surface, case.contour.surface
    fired = [layer for layer in layers.layers if layer.powder.fired_before_the_build]
    if not fired:
        return core
    thickness = sum(np.maximum(layer.thickness_mm, 0.0) for layer in fired)
    _, near = cKDTree(contour.vertices_mm).query(core.vertices_mm)
    return core.moved(core.vertices_mm + np.asarray(thickness)[near, None] * core.vertex_normals)


def packed_densities(
    mesh: VeneerMesh,
    contour: Surface,
    layers: Layers,
    *,
    swollen: Floats | None = None,
    values: Floats | None = None,
) -> Floats:
    """(e,) green relative density in each tetrahedron, unit 1.

    A node belongs to the column of the nearest contour vertex; between the nodes the share of the height
    above the mesh's core is taken as linear, and each layer counts by the part of the tetrahedron it fills.
    Parts of a fired volume are parts of the solid, so that there the mean is taken of volume over solid.
    Layers fired before the build are not in the mesh (ground_of_build) and do not count.
    contour : vertex for vertex that of the layers, in the state that was meshed
    swollen : (m,) factor on each layer's thickness in that state: the volume factors for a green body, None
              for a fired one
    values  : (m,) densities of the layers in place of those of their cards
    """
    soft = _soft(layers)
    if values is None:
        values = np.array([layer.powder.green_relative_density.value for layer in layers.layers])
    values = values[soft]
    if np.ptp(values) < 1e-12:
        return np.full(len(mesh.tets), values[0])
    thickness = np.vstack([np.maximum(layers.layers[row].thickness_mm, 0.0) for row in soft])
    if swollen is not None:
        thickness = thickness * swollen[soft, None]
    tops, share = _tops(mesh, contour, thickness)
    counted = 1 / values if swollen is None else values
    mean = np.full(len(mesh.tets), counted[-1])
    for row in range(len(values) - 1):
        mean += (counted[row] - counted[row + 1]) * part_below((share - tops[row])[mesh.tets])
    return 1 / mean if swollen is None else mean


def _soft(layers: Layers) -> list[int]:
    """Rows of the layers that the main bake fires."""
    return [row for row, layer in enumerate(layers.layers) if not layer.powder.fired_before_the_build]


def _tops(mesh: VeneerMesh, contour: Surface, thickness_mm: Floats) -> tuple[Floats, Floats]:
    """(m, n) share of the height at which each layer ends at each node, and (n,) the node's own share."""
    there = np.flatnonzero(thickness_mm.sum(axis=0) > 1e-9)
    _, near = cKDTree(contour.vertices_mm[there]).query(mesh.nodes_mm)
    tops = np.cumsum(thickness_mm[:, there[near]], axis=0)
    height = np.zeros(len(mesh.nodes_mm))
    if mesh.core is not None:
        height = nearest(mesh.core, mesh.nodes_mm).distance_mm
    depth = nearest(contour, mesh.nodes_mm).distance_mm
    return tops / tops[-1], height / np.maximum(height + depth, 1e-9)


def part_below(values: Floats) -> Floats:
    """(e,) part of each tetrahedron where a linear function with the corner values (e, 4) is below 0.

    formula : sum over the corners below 0 of v_i^3 / product over the others of (v_i - v_j), from cutting
              the tetrahedron into corner pieces; exact for values that differ
    """
    order = np.sort(values, axis=1) + _APART * np.arange(4)
    part = np.zeros(len(order))
    for i in range(4):
        others = np.prod(np.delete(order[:, i : i + 1] - order, i, axis=1), axis=1)
        part += np.where(order[:, i] < 0, order[:, i] ** 3 / others, 0.0)
    part = np.where(order[:, 3] <= 0, 1.0, np.where(order[:, 0] >= 0, 0.0, part))
    return np.clip(part, 0.0, 1.0)
