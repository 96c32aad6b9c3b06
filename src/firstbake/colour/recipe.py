"""Recipe: one stack ready to be looked at, and its colour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.colour.faces import outer_face
from firstbake.colour.ground import Ground
from firstbake.colour.observer import lab_from_reflectance
from firstbake.colour.spectrum import grid_nm
from firstbake.colour.stack import reflectance_within, stack_of
from firstbake.colour.zone import Lab
from firstbake.powder import Optics

Floats = NDArray[np.float64]

#: Where a stack is judged by its scattering depth, nm.
MIDDLE_NM = 550.0


@dataclass(frozen=True, eq=False)
class Recipe:
    """Porcelain layers over a ground, from the ground outward.

    optics, thickness_mm : m of each, the outermost last      geometry : one of faces.GEOMETRIES
    """

    optics: tuple[Optics, ...]
    thickness_mm: tuple[float, ...]
    ground: Ground
    geometry: str

    @property
    def bodies(self) -> tuple[tuple[Optics, float], ...]:
        """Every translucent body with its thickness, mm, the core included, from the bottom up."""
        core = () if self.ground.core is None else ((self.ground.core, self.ground.wall_mm),)
        return core + tuple(zip(self.optics, self.thickness_mm, strict=True))


def seen_reflectance(recipe: Recipe) -> Floats:
    """(31,) reflectance seen from outside, unit 1, on the grid of this room."""
    bodies = recipe.bodies
    end = recipe.ground.end
    if not bodies:
        return (
            end.reflectance
            if end.index is None
            else outer_face(end.index, recipe.geometry).seen(end.reflectance)
        )
    stack = stack_of([optics for optics, _ in bodies], end)
    within = reflectance_within(stack, np.array([mm for _, mm in bodies]))
    return outer_face(stack.index[-1], recipe.geometry).seen(within)


def lab_of(recipe: Recipe) -> Lab:
    """CIELAB, D65, 2 degree observer."""
    lightness, a, b = lab_from_reflectance(seen_reflectance(recipe))
    return float(lightness), float(a), float(b)


def scattering_depth(recipe: Recipe) -> float:
    """Sum of scattering x thickness at 550 nm over all bodies, unit 1: how much the stack hides."""
    at = int(np.flatnonzero(grid_nm() == MIDDLE_NM)[0])
    bodies = recipe.bodies
    if not bodies:
        return 0.0
    scattering = stack_of([optics for optics, _ in bodies], recipe.ground.end).scattering_per_mm[:, at]
    return float(scattering @ np.array([mm for _, mm in bodies]))
