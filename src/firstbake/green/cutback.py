"""The cut-back surface carried from its fired to its green place."""

import numpy as np
from scipy.spatial import cKDTree

from firstbake.green.bend import Bend
from firstbake.green.columns import stand
from firstbake.green.reach import Reach
from firstbake.layering import Layers
from firstbake.mesh import Floats, Surface, nearest, signed_distance


def dentine_row(layers: Layers) -> int:
    """Number of the layer whose outside is the cut-back surface: the last but enamel and transparent."""
    rows = [k for k, la in enumerate(layers.layers) if la.powder.role not in ("enamel", "transparent")]
    return rows[-1] if rows else 0


def carried_cut(
    layers: Layers,
    bend: Bend,
    factors: Floats,
    *,
    contour: Surface,
    green: Surface,
    reach: Reach,
    closure: float,
) -> Surface | None:
    """The green cut-back surface: each vertex moved outward by the same column law as the contour.

    contour, green : wanted and green contour     reach : how free its vertices are
    closure        : the factor on the growth that closes the mass balance of the whole body
    returns        : the faces of layers.cut_back over moved vertices. Where enamel runs out the cut-back
                     meets the contour; a vertex that would lie outside the green contour is put on it.
    """
    cut, row = layers.cut_back, dentine_row(layers)
    if cut is None:
        return None
    _, partner = cKDTree(contour.vertices_mm).query(cut.vertices_mm)
    thickness = np.array([np.maximum(la.thickness_mm, 0.0)[partner] for la in layers.layers])
    veneered = thickness.sum(axis=0) > 0
    top = nearest(bend.core, cut.vertices_mm).distance_mm * veneered
    under = Reach(reach.free_share[partner], reach.anchor_mm[partner])
    columns = stand(bend, cut, under, height_mm=top)
    heights = np.minimum(np.cumsum(thickness[: row + 1], axis=0), top)
    heights[-1] = top
    shift = columns.shift_mm(heights, factors[: row + 1], smooth_mm=0.25 * np.clip(top, 0.0, 0.8))
    moved = cut.vertices_mm + closure * shift
    found = signed_distance(green, moved)
    outside = (found.distance_mm > 0) & veneered
    return cut.moved(np.where(outside[:, None], found.foot_mm, moved))
