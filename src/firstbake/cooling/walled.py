"""The porcelain with its core under it, as one body of tetrahedra."""

from dataclasses import dataclass

import numpy as np

from firstbake.errors import BadSum
from firstbake.fem import Body, Flags, Index, outer_faces, quality, volumes_mm3
from firstbake.mesh import Floats

_LEAST_QUALITY = 0.02  # of an element of the wall; found by trial, the sums go well above it
_THINNED = 0.9  # wall left each time an element would turn inside out
_TIMES = 60


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
    whole wall, the wall is thinned until no element turns inside out.
    raises : BadSum when the porcelain is bonded nowhere or no wall fits
    """
    faces = outer_faces(body.tets)[0]
    bond = faces[body.bonded[faces].all(axis=1)]
    if len(bond) == 0:
        raise BadSum("the porcelain touches the core nowhere; check that core and contour are in place")
    used = np.unique(bond)
    row = np.full(len(body.nodes_mm), -1, dtype=np.int64)
    row[used] = np.arange(len(used))
    inward = _inward(body.nodes_mm, bond)[used]
    tets = _oriented(body.nodes_mm, _prisms(bond, row, len(body.nodes_mm)), used, inward=inward)
    wall = np.full(len(used), wall_mm)
    for _ in range(_TIMES):
        nodes = np.vstack([body.nodes_mm, body.nodes_mm[used] + wall[:, None] * inward])
        bad = (volumes_mm3(nodes, tets) <= 0) | (quality(nodes, tets) < _LEAST_QUALITY)
        if not bad.any():
            break
        below = np.unique(tets[bad])
        wall[below[below >= len(body.nodes_mm)] - len(body.nodes_mm)] *= _THINNED
    else:
        raise BadSum(
            f"a core wall of {wall_mm:.2f} mm does not fit under this porcelain; check the core's surface"
        )
    core = np.concatenate([np.zeros(len(body.tets), dtype=bool), np.ones(len(tets), dtype=bool)])
    thinned = float((wall < 0.9 * wall_mm).mean())
    return Walled(nodes, np.vstack([body.tets, tets]), core, bond, wall, thinned)


def _inward(nodes_mm: Floats, faces: Index) -> Floats:
    """(n, 3) unit normals of the faces' nodes, mean by area, out of the porcelain."""
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
