"""The porcelain with its core under it, as one body of tetrahedra."""

from dataclasses import dataclass

import numpy as np

from firstbake.errors import BadSum
from firstbake.fem import Body, Flags, Index, outer_faces, volumes_mm3
from firstbake.mesh import Floats

_LEAST_PART = 0.15  # of the volume that an element of the wall would have on a flat bond (found by trial)
_THINNED = 0.85  # wall left each time an element would be smaller
_LEAST_MM = 0.05
_MOST_DROPPED = 0.05


@dataclass(frozen=True, eq=False)
class Walled:
    """Porcelain and core, joined at the bond.

    nodes_mm : (n, 3) mm, those of the porcelain first, in their order
    tets     : (e, 4) rows of nodes_mm, positive volume, those of the porcelain first
    core     : (e,) tetrahedra of the core
    bond     : (f, 3) faces between porcelain and core, seen from the core
    wall_mm  : (b,) wall under each node of the bond (thinner than asked where edges are too sharp for it)
    thinned_share : part of these nodes whose wall is under nine tenths of what was asked
    """

    nodes_mm: Floats
    tets: Index
    core: Flags
    bond: Index
    wall_mm: Floats
    thinned_share: float

    @property
    def skin(self) -> Index:
        """(f, 3) outer faces of the porcelain, those that the air of the room cools."""
        faces, owner = outer_faces(self.tets)
        return faces[~self.core[owner]]


def with_core(body: Body, wall_mm: float) -> Walled:
    """The core is laid under the bond as a wall of even thickness, measured inward, one element thick.

    Parts of the core that carry no porcelain are left out. Where the core's edge is too sharp to hold the
    whole wall, the wall is thinned, down to 0.05 mm; elements that would still fold are left out.
    raises : BadSum when the porcelain is bonded nowhere, or more than a twentieth of the wall would fold
    """
    faces = outer_faces(body.tets)[0]
    bond = faces[body.bonded[faces].all(axis=1)]
    if len(bond) == 0:
        raise BadSum("the porcelain touches the core nowhere; check that core and contour are in place")
    used = np.unique(bond)
    row = np.full(len(body.nodes_mm), -1, dtype=np.int64)
    row[used] = np.arange(len(used))
    inward = node_normals(body.nodes_mm, bond)[used]
    tets = _oriented(body.nodes_mm, _prisms(bond, row, len(body.nodes_mm)), used, inward=inward)
    a, b, c = (body.nodes_mm[bond[:, k]] for k in range(3))
    areas = np.tile(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1), 3)
    nodes, wall, sound = _laid(body.nodes_mm, tets, used, inward=wall_mm * inward, areas_mm2=areas)
    if sound.mean() < 1 - _MOST_DROPPED:
        raise BadSum(
            f"a core wall of {wall_mm:.2f} mm does not fit under this porcelain; check the core's surface"
        )
    tets = tets[sound]
    nodes, tets = _without_loose(nodes, np.vstack([body.tets, tets]))
    core = np.arange(len(tets)) >= len(body.tets)
    thinned = float((wall < 0.9 * wall_mm).mean())
    return Walled(nodes, tets, core, bond, wall, thinned)


def _laid(
    nodes_mm: Floats, tets: Index, used: Index, *, inward: Floats, areas_mm2: Floats
) -> tuple[Floats, Floats, Flags]:
    """Nodes with the wall's under the bond, (b,) wall, and (t,) tetrahedra of the wall that are sound.

    inward : (b, 3) the whole wall      areas_mm2 : (t,) of the bond's faces over the tetrahedra
    """
    count = len(nodes_mm)
    whole = np.linalg.norm(inward, axis=1)
    wall = whole.copy()
    while True:
        nodes = np.vstack([nodes_mm, nodes_mm[used] + (wall / whole)[:, None] * inward])
        under = np.where(tets >= count, wall[np.maximum(tets - count, 0)], 0.0)
        usual = areas_mm2 / 3 * under.sum(axis=1) / (tets >= count).sum(axis=1)
        bad = volumes_mm3(nodes, tets) < _LEAST_PART * usual
        below = np.unique(tets[bad])
        below = below[below >= count] - count
        below = below[wall[below] * _THINNED >= _LEAST_MM]
        if len(below) == 0:
            return nodes, wall, ~bad
        wall[below] *= _THINNED


def _without_loose(nodes_mm: Floats, tets: Index) -> tuple[Floats, Index]:
    """Without the nodes behind the last one in use; those of the porcelain are all in use."""
    used = np.unique(tets)
    new = np.full(len(nodes_mm), -1, dtype=np.int64)
    new[used] = np.arange(len(used))
    return nodes_mm[used], new[tets]


def node_normals(nodes_mm: Floats, faces: Index) -> Floats:
    """(n, 3) unit normals of the faces' nodes, mean by area; 0 at nodes of no face."""
    a, b, c = (nodes_mm[faces[:, k]] for k in range(3))
    across = np.cross(b - a, c - a)
    normals = np.zeros_like(nodes_mm)
    for k in range(3):
        np.add.at(normals, faces[:, k], across)
    return np.asarray(normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-30))


def _prisms(faces: Index, row: Index, count: int) -> Index:
    """(3f, 4) three tetrahedra for each prism under a face, cut alike in neighbouring prisms."""
    a, b, c = np.sort(faces, axis=1).T
    below = count + row
    ways = ([a, b, c, below[a]], [b, c, below[a], below[b]], [c, below[a], below[b], below[c]])
    return np.concatenate([np.column_stack(way) for way in ways])


def _oriented(nodes_mm: Floats, tets: Index, used: Index, *, inward: Floats) -> Index:
    """The tetrahedra with positive volume, judged on a wall so thin that it cannot fold."""
    thin = np.vstack([nodes_mm, nodes_mm[used] + 1e-4 * inward])
    turned = tets.copy()
    wrong = volumes_mm3(thin, tets) < 0
    turned[wrong, 2], turned[wrong, 3] = tets[wrong, 3], tets[wrong, 2]
    return turned
