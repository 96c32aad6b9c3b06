"""Paths: many points that share their layers and ground and differ in thickness only."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstbake.colour.faces import outer_face
from firstbake.colour.fast import labs_of, spectra_of
from firstbake.colour.ground import Ground
from firstbake.colour.indices import translucency
from firstbake.colour.observer import lab_from_reflectance
from firstbake.colour.recipe import MIDDLE_NM, Recipe
from firstbake.colour.spectrum import grid_nm, on_grid
from firstbake.colour.stack import LowerEnd, Stack, stack_of
from firstbake.powder import Optics

Floats = NDArray[np.float64]

#: Tiles of the translucency parameter: reflectance of the black and of the white one, and the index of the
#: fluid between them and the ceramic (common values of such tiles; from memory, unverified).
BLACK_TILE, WHITE_TILE, FLUID_INDEX = 0.03, 0.87, 1.5


@dataclass(frozen=True, eq=False)
class Paths:
    """Porcelain layers over a ground at p points, from the ground outward.

    optics       : m of them, the outermost last
    thickness_mm : (p, m)      geometry : one of faces.GEOMETRIES
    """

    optics: tuple[Optics, ...]
    thickness_mm: Floats
    ground: Ground
    geometry: str

    @property
    def bodies(self) -> tuple[Optics, ...]:
        """Every translucent body, the core included, from the bottom up."""
        return self.optics if self.ground.core is None else (self.ground.core, *self.optics)

    @property
    def through_mm(self) -> Floats:
        """(p, bodies) thickness of every body."""
        if self.ground.core is None:
            return self.thickness_mm
        wall = np.full((len(self.thickness_mm), 1), self.ground.wall_mm)
        return np.hstack([wall, self.thickness_mm])


def paths_of(recipe: Recipe) -> Paths:
    """One recipe as one path."""
    return Paths(recipe.optics, np.array([recipe.thickness_mm]), recipe.ground, recipe.geometry)


def labs_at(paths: Paths, *, illuminant: str = "D65", observer: str = "2") -> Floats:
    """(p, 3) CIELAB at each point."""
    stack = _stack(paths)
    if stack is None:
        return lab_from_reflectance(spectra_at(paths), illuminant=illuminant, observer=observer)
    return labs_of(stack, paths.through_mm, geometry=paths.geometry, illuminant=illuminant, observer=observer)


def spectra_at(paths: Paths) -> Floats:
    """(p, 31) reflectance seen from outside at each point."""
    stack = _stack(paths)
    if stack is not None:
        return spectra_of(stack, paths.through_mm, geometry=paths.geometry)
    end = paths.ground.end
    bare = end.reflectance
    seen = bare if end.index is None else outer_face(end.index, paths.geometry).seen(bare)
    return np.tile(seen, (len(paths.thickness_mm), 1))


def depths_at(paths: Paths) -> Floats:
    """(p,) sum of scattering x thickness at 550 nm over all bodies, unit 1: how much each point hides."""
    if not paths.bodies:
        return np.zeros(len(paths.thickness_mm))
    middle = int(np.flatnonzero(grid_nm() == MIDDLE_NM)[0])
    each = [
        on_grid(optics.wavelength_nm, optics.scattering_per_mm, what="scattering")[middle]
        for optics in paths.bodies
    ]
    return np.asarray(paths.through_mm @ np.maximum(each, 0.0))


def translucencies_at(paths: Paths) -> Floats:
    """(p,) translucency parameter of core and porcelain on black and white tiles in fluid contact.

    0 over a bare metal, where nothing shines through
    """
    if not paths.bodies or (paths.ground.core is None and paths.ground.end.index is None):
        return np.zeros(len(paths.thickness_mm))
    black, white = (
        labs_at(replace(paths, ground=replace(paths.ground, end=_tile(paths, tile))))
        for tile in (BLACK_TILE, WHITE_TILE)
    )
    return translucency(black, white)


def _tile(paths: Paths, seen: float) -> LowerEnd:
    """A tile of that reflectance in air, under fluid."""
    inside = outer_face(FLUID_INDEX, paths.geometry).internal(np.full(len(grid_nm()), seen))
    return LowerEnd(np.clip(inside, 0.0, 1.0), FLUID_INDEX)


def _stack(paths: Paths) -> Stack | None:
    return stack_of(paths.bodies, paths.ground.end) if paths.bodies else None
