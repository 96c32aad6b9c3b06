"""CutBackField: the cut-back of one crown, ready to be moved while someone drags a slider."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from firstbake.layering.cut_back import CutBack
from firstbake.layering.enamel import Site, survey
from firstbake.layering.level import alone, ask, averaged, finish, seams_of
from firstbake.layering.reading import Reader, Reading, Sides
from firstbake.layering.trim import trimmed, whole
from firstbake.mesh import Floats, Grid, Surface, signed_distance, sub_surface, zero_surface
from firstbake.room import Room
from firstbake.teeth import Frame

DRAG_STEP_MM, EXPORT_STEP_MM = 0.20, 0.15
_COARSE = 3
_TOUCH_MM = 1e-6
_SETTLED_MM = 1e-4
_LOOSE_MM = 0.005
_TORN = 0.7
_NEAR_END_MM = 0.1


@dataclass(frozen=True, eq=False)
class Check:
    """Enamel of a cut-back surface at its vertices, (p,) each.

    thickness_mm : true shortest distance to the contour     wanted_mm : what the rules ask for at the foot
    cover_mm     : distance to the core                      alone : True where no other rule has a say
    """

    thickness_mm: Floats
    wanted_mm: Floats
    cover_mm: Floats
    alone: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class CutBackField:
    """Distances on a grid, taken once for one contour and core; new rules only re-evaluate arrays.

    active  : (a,) grid nodes near the veneer         reading : their readings, exact
    resting : (nodes,) values of f off the active nodes: two steps outside the contour, or deep in the core
    keep    : (nodes,) greater than 0 between margin, core and contour, where a cut-back may lie
    seam    : (nodes,) near 1 where the feet on the contour jump from one side to the other
    kept    : (k,) numbers of the veneered contour vertices that site and reader hold, of whole_count in all
    """

    reader: Reader
    grid: Grid
    active: NDArray[np.int64]
    reading: Reading
    resting: Floats
    keep: Floats
    seam: Floats
    kept: NDArray[np.int32]
    whole_count: int

    @property
    def site(self) -> Site:
        """The survey of the contour."""
        return self.reader.site

    def spread(self, values: Floats) -> Floats:
        """(k,) values over the site's vertices to (n,) values over the whole contour, 0 elsewhere."""
        spread = np.zeros(self.whole_count)
        spread[self.kept] = values
        return spread

    def levels_mm(self, rules: CutBack) -> Floats:
        """(nodes,) f on the whole grid, mm."""
        return self._levels(rules)[0]

    def recompute(self, rules: CutBack) -> Surface:
        """The cut-back surface for new rules, as fine as the grid; quick enough to follow a slider.

        raises : BadMesh when the rules leave no cut-back at all
        """
        return self._extracted(self.levels_mm(rules))

    def export(self, rules: CutBack, *, passes: int = 3) -> Surface:
        """The cut-back surface with its vertices set on f = 0 by exact distances.

        raises : BadMesh when the rules leave no cut-back at all
        """
        levels, soft = self._levels(rules)
        surface = self._extracted(levels)
        points, normals = np.array(surface.vertices_mm), surface.vertex_normals
        off, ends = self._exact(points, rules, soft)
        for _ in range(passes):
            adrift = np.flatnonzero(np.abs(off) > _SETTLED_MM)
            if len(adrift) == 0:
                break
            step = np.clip(off[adrift], -0.5 * self.grid.step_mm, 0.5 * self.grid.step_mm)
            tried = points[adrift] - step[:, None] * normals[adrift]
            left, reach = self._exact(tried, rules, soft)
            better = np.abs(left) < np.abs(off[adrift])
            moved = adrift[better]
            points[moved], off[moved], ends[moved] = tried[better], left[better], reach[better]
        loose = np.abs(off) > _LOOSE_MM + np.maximum(ends - _NEAR_END_MM, 0.0)
        inside = np.where(loose, np.minimum(ends, -np.abs(off)), ends)
        return self._within_contour(whole(trimmed(surface.moved(points), inside)))

    def _within_contour(self, surface: Surface) -> Surface:
        """The surface with its rim drawn back onto the contour where a straight cut left it."""
        if surface.is_closed:
            return surface
        rim = np.concatenate(surface.loops)
        points = np.array(surface.vertices_mm)
        reading = self.reader.read(points[rim])
        out = reading.contour_mm > 0
        points[rim[out]] = reading.foot_mm[out]
        return surface.moved(points)

    def check(self, surface: Surface, rules: CutBack) -> Check:
        """Measure a cut-back surface of this field against the rules, with exact distances."""
        reading = self.reader.read(surface.vertices_mm)
        seam = self.between(surface.vertices_mm, self.seam)
        return Check(
            thickness_mm=-reading.contour_mm,
            wanted_mm=ask(reading, self.site, rules).enamel_mm,
            cover_mm=reading.core_mm,
            alone=alone(reading, self.site, rules, seam=seam),
        )

    def between(self, points_mm: Floats, values: Floats) -> Floats:
        """Values on the grid, (nodes,), interpolated linearly at (p, 3) points."""
        place = (points_mm - np.asarray(self.grid.origin_mm)) / self.grid.step_mm
        nx, ny, nz = self.grid.counts
        cube = values.reshape(nz, ny, nx)
        return np.asarray(map_coordinates(cube, place[:, ::-1].T, order=1, mode="nearest"))

    def _extracted(self, levels_mm: Floats) -> Surface:
        """Where f crosses 0, less what lies past the margin or where the sign of an open shell flips."""
        surface = zero_surface(self.grid, levels_mm)
        tear = self.between(surface.vertices_mm, np.abs(levels_mm))
        keep = self.between(surface.vertices_mm, self.keep)
        torn = tear > _TORN * self.grid.step_mm + np.maximum(keep - _NEAR_END_MM, 0.0)
        return trimmed(surface, np.where(torn, np.minimum(keep, -tear), keep))

    def _levels(self, rules: CutBack) -> tuple[Floats, Floats]:
        """(nodes,) f, and (nodes,) the averaged heart of f, mm."""
        asked = ask(self.reading, self.site, rules)
        heart = self.resting.copy()
        heart[self.active] = asked.heart_mm
        soft = averaged(self.grid, heart)
        seam = self.seam[self.active]
        levels = self.resting.copy()
        mixed = asked.heart_mm + seam * (soft[self.active] - asked.heart_mm)
        levels[self.active] = finish(self.reading, asked, mixed)
        return levels, soft

    def _exact(self, points_mm: Floats, rules: CutBack, soft: Floats) -> tuple[Floats, Floats]:
        """(p,) f by exact distances (its averaged part from the grid); (p,) depth inside the veneer, mm."""
        reading = self.reader.read(points_mm)
        asked = ask(reading, self.site, rules)
        seam = self.between(points_mm, self.seam)
        mixed = asked.heart_mm + seam * (self.between(points_mm, soft) - asked.heart_mm)
        inside = np.minimum(reading.core_mm, -reading.contour_mm) + _TOUCH_MM
        return finish(reading, asked, mixed), np.minimum(inside, reading.end_mm)


def prepare_cut_back(
    contour: Surface, core: Surface, frame: Frame, *, room: Room, step_mm: float = DRAG_STEP_MM
) -> CutBackField:
    """Take the distances that every cut-back of this crown needs.

    room    : measured room, its arrays over the contour's vertices
    step_mm : grid spacing; 0.20 to follow a slider, 0.15 for export
    """
    veneer, kept, over = _veneered(contour, room)
    site = survey(veneer, core, frame, over)
    on_loop = np.zeros(len(kept), dtype=np.bool_)
    for loop in veneer.loops:
        on_loop[loop] = True
    reader = Reader(veneer, core, frame, site, on_loop)
    grid = _grid_round(veneer.vertices_mm, step_mm)
    active, resting, sides = _narrow_band(grid, veneer, core)
    reading = reader.read(grid.points_mm[active], sides=sides)
    keep = np.full(len(resting), -step_mm)
    keep[active] = np.minimum(reading.core_mm, reading.end_mm)
    seam = seams_of(grid, active, reading.foot_mm)
    return CutBackField(reader, grid, active, reading, resting, keep, seam, kept, len(contour.vertices_mm))


def _veneered(contour: Surface, room: Room) -> tuple[Surface, NDArray[np.int32], Room]:
    """The faces whose corners are all veneered, the numbers their vertices had, and the room over them.

    The root, and the inside of a crown given as a solid, must not count as contour: enamel starts outside.
    """
    faces = np.asarray(room.veneered[contour.faces].all(axis=1))
    if faces.all():
        return contour, np.arange(len(contour.vertices_mm), dtype=np.int32), room
    veneer, kept = sub_surface(contour, faces)
    over = replace(
        room,
        thickness_mm=room.thickness_mm[kept],
        along_normal_mm=room.along_normal_mm[kept],
        foot_mm=room.foot_mm[kept],
        margin_mm=room.margin_mm[kept],
        veneered=room.veneered[kept],
    )
    return veneer, kept, over


def _grid_round(points_mm: Floats, step_mm: float) -> Grid:
    low, high = points_mm.min(axis=0) - 2 * step_mm, points_mm.max(axis=0) + 2 * step_mm
    nx, ny, nz = (np.ceil((high - low) / step_mm).astype(int) + 1).tolist()
    x, y, z = low.tolist()
    return Grid((x, y, z), step_mm, (nx, ny, nz))


def _narrow_band(grid: Grid, contour: Surface, core: Surface) -> tuple[NDArray[np.int64], Floats, Sides]:
    """Nodes that may lie within two steps of the veneer, resting values for the others, known sides.

    Every third node is measured; a distance changes by no more than the way walked, so the other nodes are
    ruled out safely from the nearest measured one, and keep its side where that way is too short to cross.
    """
    nx, ny, nz = grid.counts
    counts = (-(-nx // _COARSE) + 1, -(-ny // _COARSE) + 1, -(-nz // _COARSE) + 1)
    coarse = Grid(grid.origin_mm, _COARSE * grid.step_mm, counts)
    points = coarse.points_mm
    shape = counts[::-1]
    take = np.ix_(*(np.rint(np.arange(n) / _COARSE).astype(int) for n in (nz, ny, nx)))
    to_contour = signed_distance(contour, points).distance_mm.reshape(shape)[take].ravel()
    to_core = signed_distance(core, points).distance_mm.reshape(shape)[take].ravel()
    way = np.sqrt(3.0) * grid.step_mm
    reach = 2.0 * grid.step_mm + way
    outside, deep = to_contour > reach, to_core < -reach
    resting = np.where(deep, -2.0 * grid.step_mm, 2.0 * grid.step_mm)
    active = np.flatnonzero(~(outside | deep))
    sides = Sides(_side(to_contour[active], way), _side(to_core[active], way))
    return active, resting, sides


def _side(distance_mm: Floats, way_mm: float) -> NDArray[np.int8]:
    sign = np.sign(distance_mm).astype(np.int8)
    return np.where(np.abs(distance_mm) > way_mm, sign, np.int8(0)).astype(np.int8)
