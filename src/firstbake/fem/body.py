"""A meshed body of porcelain, whatever it was meshed from."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from firstbake.errors import BadSum
from firstbake.fem.tetrahedra import Flags, Index, outer_faces, volumes_mm3
from firstbake.mesh import Floats

MOST_TURNED = 1e-3  # share of the volume in elements turned over that a sum bears (chosen by trial)


def turned_share(volumes: Floats) -> float:
    """Volume of the elements turned inside out over the volume of the body, from signed volumes (e,)."""
    return float(-volumes[volumes < 0].sum() / max(volumes.sum(), 1e-30))


@dataclass(frozen=True, eq=False)
class Body:
    """Tetrahedra of porcelain and how they are held.

    nodes_mm : (n, 3) mm      tets : (e, 4) rows of nodes_mm, positive volume
    bonded   : (n,) nodes on the core
    held     : (n, 3) components held by a plane of symmetry besides the bond, or None
    normals  : (n, 3) unit normals of the core at bonded nodes, needed only when porcelain slides on a foil
    brake    : (n, 3, 3) resistance of nodes to motion, over twice shear viscosity and volume, 1/mm², or None
    raises   : BadSum when more than a thousandth of the volume is turned inside out
    """

    nodes_mm: Floats
    tets: Index
    bonded: Flags
    held: Flags | None = None
    normals: Floats | None = None
    brake: Floats | None = None

    def __post_init__(self) -> None:
        if turned_share(volumes_mm3(self.nodes_mm, self.tets)) > MOST_TURNED:
            raise BadSum("tetrahedra of the porcelain are turned inside out; mesh it again with another step")

    @property
    def volume_mm3(self) -> float:
        """Volume of the body, mm³."""
        return float(volumes_mm3(self.nodes_mm, self.tets).sum())

    @cached_property
    def faces(self) -> Index:
        """(f, 3) outer faces, anticlockwise seen from outside."""
        return outer_faces(self.tets)[0]

    @cached_property
    def free_faces(self) -> Index:
        """(f, 3) outer faces with a corner off the core; faces on a plane of symmetry are left out."""
        faces: Index = self.faces[~self.bonded[self.faces].all(axis=1)]
        if self.held is None:
            return faces
        a, b, c = (self.nodes_mm[faces[:, k]] for k in range(3))
        across = np.cross(b - a, c - a)
        along = np.abs(across) > 0.99 * np.linalg.norm(across, axis=1, keepdims=True)
        kept: Index = faces[~(self.held[faces].all(axis=1) & along).any(axis=1)]
        return kept

    def moved(self, nodes_mm: Floats) -> "Body":
        """The same tetrahedra over other node places (n, 3) mm."""
        return replace(self, nodes_mm=nodes_mm)

    def holds(self, *, slide: bool) -> tuple[Flags, Floats | None]:
        """(n, 3) held components, and (n, 3, 3) directions they speak of (None for x, y, z).

        slide  : bonded nodes keep to the core but slide along it
        raises : BadSum when they slide and the body has no normals, or has planes of symmetry as well
        """
        held = np.zeros((len(self.nodes_mm), 3), dtype=bool) if self.held is None else self.held.copy()
        if not slide:
            held[self.bonded] = True
            return held, None
        if self.normals is None or self.held is not None:
            raise BadSum("porcelain on a foil needs the normals of the core and no plane of symmetry")
        turns = np.tile(np.eye(3), (len(held), 1, 1))
        turns[self.bonded] = _turned_to(self.normals[self.bonded])
        held[self.bonded, 0] = True
        return held, turns


def _turned_to(normals: Floats) -> Floats:
    """(k, 3, 3) rows: the normal and two directions square to it."""
    other = np.where(np.abs(normals[:, :1]) < 0.7, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]])
    one = np.cross(normals, other)
    one /= np.linalg.norm(one, axis=1, keepdims=True)
    return np.stack([normals, one, np.cross(normals, one)], axis=1)
