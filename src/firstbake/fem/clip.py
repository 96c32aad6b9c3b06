"""Clipping tetrahedra by the zero of a field, without hanging nodes."""

from dataclasses import dataclass, replace

import numpy as np

from firstbake.fem.tetrahedra import Flags, Index, edge_table, oriented
from firstbake.mesh import Floats

SNAP = 0.3  # a corner moves onto the surface when an edge is cut within this share of it (chosen by trial)

_Rows = list[Index]
_PRISM_TURNS = np.array(
    [
        [0, 1, 2, 3, 4, 5],
        [1, 2, 0, 4, 5, 3],
        [2, 0, 1, 5, 3, 4],
        [3, 5, 4, 0, 2, 1],
        [4, 3, 5, 1, 0, 2],
        [5, 4, 3, 2, 1, 0],
    ]
)


@dataclass(frozen=True, eq=False)
class Fielded:
    """A mesh with fields on its points.

    points_mm : (n, 3) mm      tets : (e, 4)      fields : name -> (n,), greater than 0 inside, 0 on the
        surface
    """

    points_mm: Floats
    tets: Index
    fields: dict[str, Floats]


def clip(mesh: Fielded, name: str, *, locked: Flags | None = None, snap: float = SNAP) -> Fielded:
    """The part of the mesh where the field is greater than 0; cut points get the value 0 exactly.

    locked : (n,) points that must not be moved onto the surface
    The pieces are split through their lowest point number, so that neighbours agree without a table.
    source : lowest-index splits, Dompierre et al. 1999; snapping as in Labelle and Shewchuk 2007
    """
    fixed = np.zeros(len(mesh.points_mm), dtype=bool) if locked is None else locked
    mesh = _snapped(mesh, name, fixed, snap=snap)
    field = mesh.fields[name]
    edges, sides = edge_table(mesh.tets)
    cut = np.flatnonzero(field[edges[:, 0]] * field[edges[:, 1]] < 0)
    share = _crossing(field, edges[cut])
    middle = np.full(len(edges), -1, dtype=np.int64)
    middle[cut] = len(field) + np.arange(len(cut))
    fields = {k: np.concatenate([v, _between(v, edges[cut], share)]) for k, v in mesh.fields.items()}
    fields[name][len(field) :] = 0.0
    points = np.vstack([mesh.points_mm, _between(mesh.points_mm, edges[cut], share[:, None])])
    tets = np.vstack(_pieces(mesh.tets, np.sign(field[mesh.tets]).astype(np.int64), middle[sides]))
    return Fielded(points, oriented(points, tets), fields)


def _crossing(field: Floats, edges: Index) -> Floats:
    one, two = field[edges[:, 0]], field[edges[:, 1]]
    return np.asarray(one / (one - two))


def _between(values: Floats, edges: Index, share: Floats) -> Floats:
    return np.asarray(values[edges[:, 0]] + share * (values[edges[:, 1]] - values[edges[:, 0]]))


def _snapped(mesh: Fielded, name: str, locked: Flags, *, snap: float) -> Fielded:
    """Moves each free point to its nearest cut, where that lies within the snap share of the edge."""
    field = mesh.fields[name]
    edges, _ = edge_table(mesh.tets)
    edges = edges[field[edges[:, 0]] * field[edges[:, 1]] < 0]
    share = _crossing(field, edges)
    point = np.concatenate([edges[:, 0], edges[:, 1]])
    near = np.concatenate([share, 1 - share])
    edge = np.tile(np.arange(len(edges)), 2)
    ok = (near < snap) & ~locked[point]
    order = np.lexsort((edge[ok], near[ok], point[ok]))
    moved, first = np.unique(point[ok][order], return_index=True)
    if len(moved) == 0:
        return mesh
    chosen = edge[ok][order][first]
    points = mesh.points_mm.copy()
    points[moved] = _between(mesh.points_mm, edges[chosen], share[chosen][:, None])
    fields = {k: v.copy() for k, v in mesh.fields.items()}
    for value in fields.values():
        value[moved] = _between(value, edges[chosen], share[chosen])
    fields[name][moved] = 0.0
    return replace(mesh, points_mm=points, fields=fields)


def _pieces(tets: Index, sign: Index, middle: Index) -> _Rows:
    """Tetrahedra of the inside. sign : (e, 4) of -1, 0, 1; middle : (e, 6) cut point of each side or -1."""
    inside, outside = (sign > 0).sum(axis=1), (sign < 0).sum(axis=1)
    pieces = [tets[(outside == 0) & (inside > 0)]]
    mixed = (outside > 0) & (inside > 0)
    order = np.argsort(-sign[mixed], axis=1, kind="stable")
    side = np.array([[-1, 0, 1, 2], [0, -1, 3, 4], [1, 3, -1, 5], [2, 4, 5, -1]])
    corners, cuts = np.take_along_axis(tets[mixed], order, axis=1), middle[mixed]
    plus, zero = inside[mixed], 4 - inside[mixed] - outside[mixed]

    def chosen(p: int, z: int) -> tuple[Index, dict[tuple[int, int], Index]]:
        rows = np.flatnonzero((plus == p) & (zero == z))
        mids = {
            (i, j): cuts[rows, side[order[rows, i], order[rows, j]]]
            for i in range(4)
            for j in range(i + 1, 4)
        }
        return corners[rows].T, mids

    (a, *_), m = chosen(1, 0)
    pieces.append(np.column_stack([a, m[0, 1], m[0, 2], m[0, 3]]))
    (a, b, *_), m = chosen(1, 1)
    pieces.append(np.column_stack([a, b, m[0, 2], m[0, 3]]))
    (a, b, c, _), m = chosen(1, 2)
    pieces.append(np.column_stack([a, b, c, m[0, 3]]))
    (a, b, c, _), m = chosen(2, 1)
    pieces += _pyramids(c, np.column_stack([a, b, m[1, 3], m[0, 3]]))
    (a, b, *_), m = chosen(2, 0)
    pieces += _prisms(np.column_stack([a, m[0, 2], m[0, 3], b, m[1, 2], m[1, 3]]))
    (a, b, c, _), m = chosen(3, 0)
    pieces += _prisms(np.column_stack([a, b, c, m[0, 3], m[1, 3], m[2, 3]]))
    return pieces


def _pyramids(tip: Index, ring: Index) -> _Rows:
    """Two tetrahedra a pyramid; the base (k, 4) is cut through its lowest number."""
    if len(ring) == 0:
        return []
    start = ring.argmin(axis=1)[:, None]
    ring = np.take_along_axis(ring, (start + np.arange(4)) % 4, axis=1)
    return [
        np.column_stack([tip, ring[:, 0], ring[:, 1], ring[:, 2]]),
        np.column_stack([tip, ring[:, 0], ring[:, 2], ring[:, 3]]),
    ]


def _prisms(six: Index) -> _Rows:
    """Three tetrahedra a prism (k, 6), triangles 0-1-2 and 3-4-5; each side is cut through its lowest
    number."""
    if len(six) == 0:
        return []
    v = np.take_along_axis(six, _PRISM_TURNS[six.argmin(axis=1)], axis=1)
    down = np.minimum(v[:, 1], v[:, 5]) < np.minimum(v[:, 2], v[:, 4])
    one, two = v[down], v[~down]
    return [
        v[:, [0, 3, 4, 5]],
        one[:, [0, 1, 2, 5]],
        one[:, [0, 1, 5, 4]],
        two[:, [0, 1, 2, 4]],
        two[:, [0, 2, 5, 4]],
    ]
