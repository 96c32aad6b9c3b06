"""Stresses read along columns, from each vertex of the contour down to the core."""

import numpy as np
from scipy.spatial import cKDTree

from firstbake.cooling.crown_stress import CoolingStress
from firstbake.cooling.walled import Walled
from firstbake.fem import Index
from firstbake.mesh import Floats, Surface
from firstbake.room import Room

RIM_MM = 0.3  # this near the margin the porcelain runs out to nothing and the sums say little
_PATCH_MM = 0.5  # pulls are means over this reach: a sum at a sharp corner has no limit
_SHARES = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1.0])


class Columns:
    """Values at six shares of the way from each vertex of the contour to the core."""

    def __init__(self, contour: Surface, room: Room, walled: Walled, cold: CoolingStress) -> None:
        self.known = room.veneered & np.isfinite(room.foot_mm).all(axis=1)
        self.points_mm, self.thickness_mm = contour.vertices_mm, room.thickness_mm
        self.inner = self.known & (room.margin_mm > RIM_MM)
        porcelain = walled.nodes_mm[: len(cold.tension_MPa)]
        tree = cKDTree(porcelain)
        self.smooth = _patch_means(tree, cold.tension_MPa)
        top, foot = contour.vertices_mm[self.known], room.foot_mm[self.known]
        places = top[None] + _SHARES[:, None, None] * (foot - top)[None]
        self.rows: Index = np.asarray(tree.query(places)[1], dtype=np.int64)
        bonded = np.flatnonzero(np.isfinite(cold.pull_off_MPa))
        near = np.asarray(cKDTree(porcelain[bonded]).query(foot)[1], dtype=np.int64)
        lifting = np.nan_to_num(cold.pull_off_MPa)
        self.lift = _patch_means(cKDTree(porcelain[bonded]), lifting[bonded])[near]
        self.way = cold.on_the_way_MPa

    def at(self, share: int) -> Floats:
        return self._spread(self.smooth[self.rows[share]])

    def below(self) -> Floats:
        return self._spread(self.smooth[self.rows[1:]].max(axis=0))

    def lifting(self) -> Floats:
        return self._spread(self.lift)

    def on_the_way(self) -> Floats:
        return self._spread(self.way[self.rows].max(axis=0))

    def _spread(self, values: Floats) -> Floats:
        found = np.full(len(self.known), np.nan)
        found[self.known] = values
        return found

    def of(self, kind: str) -> Floats:
        """Pull of a kind of crack, NaN in the last 0.3 mm at the margin."""
        found = {"surface": self.at(0), "inside": self.below(), "lifting": self.lifting()}[kind]
        return np.where(self.inner, found, np.nan)


def _patch_means(tree: cKDTree, values: Floats) -> Floats:
    """(n,) means over the nodes within half a millimetre."""
    pairs = tree.query_pairs(_PATCH_MM, output_type="ndarray")
    one, two = pairs[:, 0], pairs[:, 1]
    count = len(values)
    total = values + np.bincount(one, values[two], count) + np.bincount(two, values[one], count)
    number = 1.0 + np.bincount(one, minlength=count) + np.bincount(two, minlength=count)
    return np.asarray(total / number)
