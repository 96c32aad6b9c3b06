"""Which powder fills each tetrahedron of the fired veneer."""

import numpy as np
from scipy.spatial import cKDTree

from firstbake.cooling.remembered import Filling
from firstbake.cooling.solid import solid_of_core, solid_of_powder
from firstbake.cooling.walled import Walled
from firstbake.layering import Layers
from firstbake.mesh import Floats, Surface, nearest
from firstbake.powder import CoreMaterial


def filled_by_layers(
    walled: Walled, layers: Layers, *, contour: Surface, ground: Surface, core: CoreMaterial
) -> Filling:
    """The layers of the plan in the tetrahedra of its mesh, the core's card in the wall.

    contour : vertex for vertex that of the layers      ground : what the mesh stands on
    Each tetrahedron belongs to the column of the contour vertex nearest to its middle, and takes the layer in
    which its middle lies by its share of the height. Layers fired before the build lie under the mesh and
    count as core there, being a tenth of a millimetre.
    """
    soft = [layer for layer in layers.layers if not layer.powder.fired_before_the_build]
    solids = (*(solid_of_powder(layer.powder) for layer in soft), solid_of_core(core))
    of = np.full(len(walled.tets), len(solids) - 1, dtype=np.int64)
    porcelain = ~walled.core
    middles = walled.nodes_mm[walled.tets[porcelain]].mean(axis=1)
    thickness = np.vstack([np.maximum(layer.thickness_mm, 0.0) for layer in soft])
    of[porcelain] = _rows(middles, thickness, contour=contour, ground=ground)
    return Filling(solids, of)


def _rows(middles_mm: Floats, thickness_mm: Floats, *, contour: Surface, ground: Surface) -> Floats:
    """(p,) row of the layer at each place."""
    there = np.flatnonzero(thickness_mm.sum(axis=0) > 1e-9)
    _, near = cKDTree(contour.vertices_mm[there]).query(middles_mm)
    tops = np.cumsum(thickness_mm[:, there[near]], axis=0)
    height = nearest(ground, middles_mm).distance_mm
    depth = nearest(contour, middles_mm).distance_mm
    share = height / np.maximum(height + depth, 1e-9)
    return np.asarray((share > tops[:-1] / tops[-1]).sum(axis=0))
