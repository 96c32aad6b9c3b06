"""How deep a point lies in the room between core and contour."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from firstbake.fem.margin import FEATHER_MM
from firstbake.fem.tetrahedra import Flags, Index
from firstbake.mesh import Floats, Surface, winding_number

_TOUCHING_MM = (
    0.05  # a face of the contour this close to the core and turned against it is the inside of a solid
)


def outer_side(contour: Surface, core: Surface) -> Surface:
    """The contour without faces that lie on the core and look into it (a solid veneer given as contour)."""
    middles = contour.vertices_mm[contour.faces].mean(axis=1)
    core_tree = core.probe

    def inner(rows: Index) -> Flags:
        found = core_tree.nearest(middles[rows])
        facing = np.einsum("ij,ij->i", contour.face_normals[rows], core.face_normals[found.face])
        return np.asarray((found.distance_mm < _TOUCHING_MM) & (facing < -0.5))

    sample = np.arange(0, len(middles), max(1, len(middles) // 500))
    if inner(sample).mean() < 0.1:  # a narrow overlap at the margin, or none
        return contour
    return Surface(contour.vertices_mm, contour.faces[~inner(np.arange(len(middles)))])


class Depth:
    """Signed distances to core and contour, safe against holes, flipped and doubled faces.

    core    : of which the porcelain is outside      contour : of which it is inside
    sign    : generalised winding numbers over one half. Between two open margins, where both surfaces end,
        the
              winding number of the room itself (contour less core) decides.
    """

    def __init__(self, contour: Surface, core: Surface) -> None:
        self.contour, self.core = contour, core
        self.to_contour, self.to_core = contour.probe, core.probe

    def at(self, points_mm: Floats, *, step_mm: float) -> "Fields":
        """Fields at (p, 3) points. step_mm : scale of the field that ends the room between open margins."""
        round_contour = _upright(winding_number(self.contour, points_mm))
        round_core = _upright(winding_number(self.core, points_mm))
        outside_core = np.where(round_core > 0.5, -1.0, 1.0) * self.to_core.nearest(points_mm).distance_mm
        in_contour = np.where(round_contour > 0.5, 1.0, -1.0) * self.to_contour.nearest(points_mm).distance_mm
        room = round_contour - round_core
        between = (outside_core > 0) & (in_contour > 0) & (room < 0.5)
        beyond = 2 * step_mm * (0.5 - room[between]) + 1e-9
        in_contour[between] = -np.minimum(in_contour[between], beyond)
        outside_core[between] = -np.minimum(
            outside_core[between], beyond
        )  # no film below the core's own margin
        return Fields(outside_core, in_contour)

    def capped(self, points_mm: Floats, fields: "Fields", edges: Index) -> "Fields":
        """Fields without the film that two open margins would leave between their caps.

        An edge that goes from inside the core to outside the contour crosses porcelain only where its cut by
        the core lies on the core. Where it does not, it has left through the open margin: its outer end is
        counted as inside the core too.
        edges : (k, 2) of the mesh
        """
        core, contour = fields.outside_core_mm, fields.in_contour_mm
        ends = np.vstack([edges, edges[:, ::-1]])
        inner, outer = ends.T
        ends = ends[(core[inner] < 0) & (contour[inner] > 0) & (core[outer] > 0) & (contour[outer] < 0)]
        if len(ends) == 0:
            return fields
        inner, outer = ends.T
        share = (core[inner] / (core[inner] - core[outer]))[:, None]
        span = points_mm[outer] - points_mm[inner]
        off = self.to_core.nearest(points_mm[inner] + share * span).distance_mm
        open_ends = outer[off > 0.2 * np.linalg.norm(span, axis=1)]
        core = core.copy()
        core[open_ends] = -np.abs(core[open_ends])
        return Fields(core, contour)


def _upright(winding: Floats) -> Floats:
    """Winding numbers of a surface whose faces all look inward are turned over."""
    inside = winding[np.abs(winding) > 0.5]
    return -winding if len(inside) and np.median(inside) < 0 else winding


@dataclass(frozen=True, eq=False)
class Fields:
    """outside_core_mm, in_contour_mm : (p,) mm, both greater than 0 in the room."""

    outside_core_mm: Floats
    in_contour_mm: Floats

    def near(self, reach_mm: float) -> Flags:
        """(p,) points within reach_mm of the room."""
        return np.asarray((self.outside_core_mm > -reach_mm) & (self.in_contour_mm > -reach_mm))

    def taken(self, rows: Flags) -> "Fields":
        """The fields of some of the points."""
        return Fields(self.outside_core_mm[rows], self.in_contour_mm[rows])


@dataclass(frozen=True, eq=False)
class Sizes:
    """Wanted element sizes: step_mm everywhere, finer near free ends that are thin from contour to contour.

    step_mm : mm      least_mm : finest, mm      tree : of the thin places, or None      sizes_mm : (k,) there
    """

    step_mm: float
    least_mm: float
    tree: cKDTree | None
    sizes_mm: Floats

    def at(self, points_mm: Floats) -> Floats:
        """(p,) wanted sizes, mm; they grow by 0.4 mm a mm away from a thin place (chosen here)."""
        if self.tree is None:
            return np.full(len(points_mm), self.step_mm)
        far, place = self.tree.query(points_mm, distance_upper_bound=self.step_mm / 0.4)
        place = np.minimum(place, len(self.sizes_mm) - 1)
        size = np.where(np.isfinite(far), self.sizes_mm[place] + 0.4 * far, self.step_mm)
        return np.asarray(np.clip(size, self.least_mm, self.step_mm))


def sizes_from(depth: Depth, *, step_mm: float, finest_mm: float, elements: float = 2.5) -> Sizes:
    """Sizes so that a free end holds `elements` elements across, as far as finest_mm allows; finest at the
    margin.

    Rays run from about 1500 points of the contour inward; a free end is where they meet the contour again
    before the core.
    """
    contour = depth.contour
    rows = np.arange(0, len(contour.vertices_mm), max(1, len(contour.vertices_mm) // 1500))
    normals = contour.vertex_normals[rows]
    rows = rows[np.linalg.norm(normals, axis=1) > 0.5]
    inward = -contour.vertex_normals[rows]
    start = contour.vertices_mm[rows] + 1e-3 * inward
    across, _ = depth.to_contour.rays(start, inward)
    to_core, _ = depth.to_core.rays(start, inward)
    ends = (across > 0.1) & (across < elements * step_mm) & ~(to_core <= across)
    middle = start[ends] + 0.5 * across[ends, None] * inward[ends]
    feather = _feather(depth)
    places = np.vstack([contour.vertices_mm[rows[ends]], middle, feather])
    if len(places) == 0:
        return Sizes(step_mm, finest_mm, None, np.zeros(0))
    sizes = np.tile(np.clip(across[ends] / elements, finest_mm, step_mm), 2)
    sizes = np.concatenate([sizes, np.full(len(feather), finest_mm)])
    return Sizes(step_mm, finest_mm, cKDTree(places), sizes)


def _feather(depth: Depth) -> Floats:
    """(k, 3) about 3000 places of the contour at most, those where porcelain runs out."""
    contour = depth.contour
    places = contour.vertices_mm
    if len(places) < 3000:
        places = np.vstack([places, places[contour.faces].mean(axis=1)])
    places = places[:: max(1, len(places) // 3000)]
    return np.asarray(places[depth.to_core.nearest(places).distance_mm < FEATHER_MM])
