"""Many different stacks at once: colours and their exact slopes in every thickness.

A stack has one place for each role and two for transparent and enamel behind a free edge; a place without
a powder neither absorbs nor scatters, so that stacks of different powders stand side by side in one array.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import (
    diffuse_reflectances,
    grid_nm,
    growth,
    lab_from_xyz,
    layer,
    on_grid,
    outer_face,
    over,
    over_slope,
    weights_of,
    white_of,
)
from firstbake.recipe.asked import DENTINE, ON_CORE, OUTSIDE, SLOTS, Asked, Ingredient, PowderSet

Floats = NDArray[np.float64]

_SAME_INDEX = 1e-9
_LINEAR_BELOW = (6.0 / 29.0) ** 3
_BEHIND = len(OUTSIDE)
_PLACES = _BEHIND + len(SLOTS)
_SPLIT = [SLOTS.index(role) for role in OUTSIDE]


@dataclass(frozen=True, eq=False)
class Batch:
    """p stacks of 8 places (transparent and enamel behind a free edge, then SLOTS), w wavelengths.

    absorption_per_mm, scattering_per_mm : (p, 8, w)
    above, under : (p, 8) diffuse reflectance of the face under each place from its upper and lower side
    base         : (p, w) reflectance under the lowest place
    back_share   : (p,) share of enamel and transparent behind the dentine
    face         : (p, 3) mirror, passed and inside of the outer face
    """

    absorption_per_mm: Floats
    scattering_per_mm: Floats
    above: Floats
    under: Floats
    base: Floats
    back_share: Floats
    face: Floats

    def rows(self, chosen: NDArray[np.int64]) -> "Batch":
        """The stacks of those rows, which may come more than once."""
        return Batch(*(part[chosen] for part in vars(self).values()))

    def layers_mm(self, slots_mm: Floats) -> Floats:
        """(p, 8) thickness of each place from (p, 6) thickness of each role."""
        behind = self.back_share[:, None] * slots_mm[:, _SPLIT]
        places = np.concatenate([behind, slots_mm], axis=1)
        for place, slot in enumerate(_SPLIT):
            places[:, _BEHIND + slot] -= behind[:, place]
        return places

    def slots_slope(self, places_slope: Floats) -> Floats:
        """(p, 6, 3) slope in the thickness of each role from (p, 8, 3) in that of each place."""
        slope = places_slope[:, _BEHIND:].copy()
        share = self.back_share[:, None]
        for place, slot in enumerate(_SPLIT):
            slope[:, slot] = share * places_slope[:, place] + (1.0 - share) * slope[:, slot]
        return slope


def batch_of(pairs: Sequence[tuple[Asked, PowderSet]], *, geometry: str) -> Batch:
    """One stack for each zone and set of powders; geometry : one of colour.GEOMETRIES."""
    known: dict[int, tuple[Floats, Floats]] = {}
    faces: dict[float, tuple[float, float]] = {}
    size = (len(pairs), _PLACES)
    absorption, scattering = np.zeros((2, *size, len(grid_nm())))
    above, under = np.zeros((2, *size))
    outer: dict[float, tuple[float, float, float]] = {}
    face = np.zeros((len(pairs), 3))
    for row, (asked, powders) in enumerate(pairs):
        below = asked.end.index
        for place, ingredient in places_of_set(powders, free=asked.free):
            absorption[row, place], scattering[row, place] = spectra_of(ingredient, known)
            index = ingredient.optics.index
            above[row, place], under[row, place] = _sides(below, index, faces)
            below = index
        if below is not None:
            face[row] = _outer(below, geometry, outer)
    base = np.array([asked.end.reflectance for asked, _ in pairs])
    back = np.array([asked.back_share if asked.free else 0.0 for asked, _ in pairs])
    return Batch(absorption, scattering, above, under, base, back, face)


def places_of_set(powders: PowderSet, *, free: bool) -> list[tuple[int, Ingredient]]:
    """(place, powder) from the bottom up; at a free edge what lies behind the dentine first, and no
    coat of the core.
    """
    if not free:
        return [(_BEHIND + SLOTS.index(i.role), i) for i in powders.ingredients]
    behind = [(place, found) for place, role in enumerate(OUTSIDE) if (found := powders.of(role))]
    before = [(_BEHIND + SLOTS.index(i.role), i) for i in powders.ingredients if i.role not in ON_CORE]
    return behind + before


def slot_of(place: int) -> int:
    """The role, as a number in SLOTS, that fills a place."""
    return _SPLIT[place] if place < _BEHIND else place - _BEHIND


def share_of(place: int, back_share: float) -> float:
    """What part of its role's thickness lies in a place, unit 1."""
    if place < _BEHIND:
        return back_share
    return 1.0 - back_share if place - _BEHIND in _SPLIT else 1.0


def spectra_of(ingredient: Ingredient, known: dict[int, tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
    """(w,) absorption and scattering on the grid of colour; `known` keeps what was brought there before."""
    optics = ingredient.optics
    if id(optics) not in known:
        known[id(optics)] = (
            np.maximum(on_grid(optics.wavelength_nm, optics.absorption_per_mm, what=ingredient.name), 0.0),
            np.maximum(on_grid(optics.wavelength_nm, optics.scattering_per_mm, what=ingredient.name), 0.0),
        )
    return known[id(optics)]


def _sides(below: float | None, index: float, faces: dict[float, tuple[float, float]]) -> tuple[float, float]:
    """Diffuse reflectance from above and from beneath of the face under a layer of that index."""
    if below is None or abs(below - index) < _SAME_INDEX:
        return 0.0, 0.0
    step = max(below, index) / min(below, index)
    if step not in faces:
        faces[step] = diffuse_reflectances(step)
    thin, dense = faces[step]
    return (thin, dense) if index < below else (dense, thin)


def _outer(
    index: float, geometry: str, known: dict[float, tuple[float, float, float]]
) -> tuple[float, float, float]:
    if index not in known:
        face = outer_face(index, geometry)
        known[index] = (face.mirror, face.passed, face.inside)
    return known[index]


def labs(batch: Batch, slots_mm: Floats) -> Floats:
    """(p, 3) CIELAB, D65, 2 degrees, of every stack; slots_mm : (p, 6)."""
    places, seen = batch.layers_mm(slots_mm), batch.base
    for j in _used(batch):
        seen = _crossed(batch, j, seen)
        r, t = _layer(batch, j, places)
        seen = over(r, t, seen)
    return lab_from_xyz(_outside(batch, seen) @ weights_of())


def labs_and_slopes(batch: Batch, slots_mm: Floats) -> tuple[Floats, Floats]:
    """(p, 3) CIELAB and (p, 8, 3) its exact slope in the thickness of every place, 1/mm.

    formula : growth of the reflectance on top of each layer times the slopes of all above it, then the
              slopes of the outer face, the tristimulus sums and CIELAB
    """
    places, seen = batch.layers_mm(slots_mm), batch.base
    used = _used(batch)
    grown, passed = [], []
    for j in used:
        above, under = batch.above[:, j, None], batch.under[:, j, None]
        factor = (1.0 - above) * (1.0 - under) / (1.0 - under * seen) ** 2
        seen = _crossed(batch, j, seen)
        r, t = _layer(batch, j, places)
        passed.append(factor * over_slope(r, t, seen))
        seen = over(r, t, seen)
        grown.append(growth(batch.absorption_per_mm[:, j], batch.scattering_per_mm[:, j], seen))
    _, share, inside = (batch.face[:, k, None] for k in range(3))
    onward = share / (1.0 - inside * seen) ** 2
    xyz = _outside(batch, seen) @ weights_of()
    slopes = np.zeros((len(seen), _PLACES, 3))
    for j, growing, passing in zip(reversed(used), reversed(grown), reversed(passed), strict=True):
        slopes[:, j] = (onward * growing) @ weights_of()
        onward = onward * passing
    return lab_from_xyz(xyz), _lab_slopes(xyz, slopes)


def _used(batch: Batch) -> list[int]:
    """Places that hold a powder in any stack."""
    empty = (batch.scattering_per_mm == 0) & (batch.absorption_per_mm == 0)
    filled = ~empty.all(axis=(0, 2)) | (batch.above != 0).any(axis=0)
    filled[_BEHIND + DENTINE] = True
    return [int(j) for j in np.flatnonzero(filled)]


def _crossed(batch: Batch, j: int, seen: Floats) -> Floats:
    above, under = batch.above[:, j, None], batch.under[:, j, None]
    return np.asarray(above + (1.0 - above) * (1.0 - under) * seen / (1.0 - under * seen))


def _layer(batch: Batch, j: int, places_mm: Floats) -> tuple[Floats, Floats]:
    return layer(batch.absorption_per_mm[:, j], batch.scattering_per_mm[:, j], places_mm[:, j, None])


def _outside(batch: Batch, seen: Floats) -> Floats:
    mirror, passed, inside = (batch.face[:, k, None] for k in range(3))
    return np.asarray(mirror + passed * seen / (1.0 - inside * seen))


def _lab_slopes(xyz: Floats, xyz_slopes: Floats) -> Floats:
    """(p, m, 3) slopes of CIELAB from (p, 3) XYZ and its (p, m, 3) slopes."""
    share = xyz / white_of()
    steep = 1.0 / (3.0 * np.cbrt(np.maximum(share, _LINEAR_BELOW)) ** 2)
    f = xyz_slopes * (steep / white_of())[:, None, :]
    return np.stack([116 * f[..., 1], 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1)
