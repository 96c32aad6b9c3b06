"""How far to trust a predicted colour: one standard deviation in CIEDE2000, from independent sources."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstbake.colour.difference import delta_e00
from firstbake.colour.ground import mouth_end, moved_stump
from firstbake.colour.observer import lab_from_reflectance
from firstbake.colour.optics_doubt import moved_spectra
from firstbake.colour.paths import Paths, depths_at, labs_at, paths_of, spectra_at
from firstbake.colour.recipe import Recipe
from firstbake.colour.zone import Lab

Floats = NDArray[np.float64]

#: Hand scatter of each boundary between layers inside a fixed outer form, mm (from memory, unverified).
LAYERING_MM = 0.05
#: Scatter of a milled or cast core wall, mm (from memory, unverified).
WALL_MM = 0.05
#: Scatter of a stump's L*, a*, b* taken from a photograph with a card (from memory, unverified), and of the
#: ordinary dentine that stands in where the order gives none (demo).
STUMP_LAB: Lab = (2.0, 1.0, 2.0)
ASSUMED_STUMP_LAB: Lab = (6.0, 2.0, 4.0)
#: How far the mouth behind a free edge may differ, unit 1 (demo: dark to lit).
MOUTH_SHARE = 0.05
#: Below this scattering depth over a free back the sum is known to be weak.
WEAK_FREE_DEPTH = 1.2
#: Below this scattering depth over a core the layers are thin for the sum.
WEAK_CORE_DEPTH = 0.9

# Error of the two-flux sum by scattering depth, CIEDE2000: simulated against a many-stream solution on flat
# slabs of demo materials (this project's reference study); 0.3 to 0.7 in the body, 1 to 2 at the edge.
_CORE_DEPTH, _CORE_ERROR = (0.9, 2.0), (1.4, 0.5)
_FREE_DEPTH, _FREE_ERROR = (0.09, 0.25, 0.55, 1.1, 1.8, 3.3), (16.0, 10.0, 5.0, 2.0, 1.5, 1.0)
_NO_LAYERS_ERROR = 0.5


@dataclass(frozen=True, eq=False)
class Spread:
    """One standard deviation of what is predicted at p points.

    delta_e00   : (p,) CIEDE2000       lab : (p, 3) of L*, a*, b*
    reflectance : (p, 31), unit 1. The model's own error is known as a colour difference only, so it stands
                  here as one share of the reflectance at every wavelength that makes that difference
    """

    delta_e00: Floats
    lab: Floats
    reflectance: Floats


def doubt_of(recipe: Recipe, *, free: bool, size_doubt_mm: float = 0.0) -> float:
    """One standard deviation of the predicted colour of one recipe, CIEDE2000; see doubts_at()."""
    return float(doubts_at(paths_of(recipe), free=free, size_doubt_mm=size_doubt_mm)[0])


def doubts_at(paths: Paths, *, free: bool, size_doubt_mm: float = 0.0) -> Floats:
    """(p,) one standard deviation of the predicted colour, CIEDE2000.

    free          : True where the back is open
    size_doubt_mm : standard deviation of every length, mm, where the form comes from callipers
    method        : every source moves the layers by one standard deviation, boundaries both ways; the colour
                    differences and the model's own error are added as squares, which takes the sources as
                    independent. How the optics move: optics_doubt.moved_optics()
    """
    middle, spectrum = labs_at(paths), spectra_at(paths)
    total = model_errors(paths, free=free) ** 2
    for share, moved in _moved(paths, free=free, size_doubt_mm=size_doubt_mm):
        total += share * delta_e00(labs_at(moved), middle) ** 2
    for seen in moved_spectra(paths, spectrum):
        total += delta_e00(lab_from_reflectance(seen), middle) ** 2
    return np.asarray(np.sqrt(total))


def spread_of(recipe: Recipe, *, free: bool, size_doubt_mm: float = 0.0) -> Spread:
    """The doubt of one recipe as colour difference, along each axis and at each wavelength (p = 1)."""
    return spreads_at(paths_of(recipe), free=free, size_doubt_mm=size_doubt_mm)


def spreads_at(paths: Paths, *, free: bool, size_doubt_mm: float = 0.0) -> Spread:
    """The doubt at p points as colour difference, along each axis and at each wavelength; see doubts_at()."""
    spectrum = spectra_at(paths)
    middle = lab_from_reflectance(spectrum)
    model = model_errors(paths, free=free)
    darker = lab_from_reflectance(0.99 * spectrum)
    scale = model / np.maximum(delta_e00(darker, middle), 1e-12)
    total = model**2
    lab = ((darker - middle) * scale[:, None]) ** 2
    reflectance = (0.01 * spectrum * scale[:, None]) ** 2
    sources = [(s, spectra_at(m)) for s, m in _moved(paths, free=free, size_doubt_mm=size_doubt_mm)]
    for share, seen in (*sources, *((1.0, seen) for seen in moved_spectra(paths, spectrum))):
        colour = lab_from_reflectance(seen)
        total += share * delta_e00(colour, middle) ** 2
        lab += share * (colour - middle) ** 2
        reflectance += share * (seen - spectrum) ** 2
    return Spread(np.sqrt(total), np.sqrt(lab), np.sqrt(reflectance))


def model_error(recipe: Recipe, *, free: bool) -> float:
    """Error of the two-flux sum itself for one recipe, CIEDE2000, one standard deviation."""
    return float(model_errors(paths_of(recipe), free=free)[0])


def model_errors(paths: Paths, *, free: bool) -> Floats:
    """(p,) error of the two-flux sum itself, CIEDE2000, one standard deviation."""
    depth = depths_at(paths)
    if not paths.bodies:
        return np.full(len(depth), _NO_LAYERS_ERROR)
    known = (_FREE_DEPTH, _FREE_ERROR) if free else (_CORE_DEPTH, _CORE_ERROR)
    return np.asarray(np.interp(depth, *known))


def _moved(paths: Paths, *, free: bool, size_doubt_mm: float) -> Iterator[tuple[float, Paths]]:
    """The layers with one source but the optics after the other moved by its deviation, and its share."""
    for moved in _boundaries(paths, size_doubt_mm):
        yield 0.5, moved
    ground = paths.ground
    if ground.core is not None:
        yield 1.0, replace(paths, ground=replace(ground, wall_mm=ground.wall_mm + WALL_MM))
    if ground.stump is not None:
        usual = ASSUMED_STUMP_LAB if ground.assumed else STUMP_LAB
        # the reading's own doubt widens the usual scatter alike along all axes (taken as a CIELAB length)
        wider = float(np.hypot(1.0, ground.stump_doubt_delta_e00 / np.linalg.norm(usual)))
        for axis, step in enumerate(wider * np.array(usual)):
            stump = list(ground.stump)
            stump[axis] += step if axis or stump[axis] + step < 95.0 else -step
            yield (
                1.0,
                replace(
                    paths, ground=moved_stump(ground, (stump[0], stump[1], stump[2]), geometry=paths.geometry)
                ),
            )
    if free:
        mouth = float(ground.end.reflectance[0]) + MOUTH_SHARE
        yield 1.0, replace(paths, ground=replace(ground, end=mouth_end(mouth)))


def _boundaries(paths: Paths, size_doubt_mm: float) -> Iterator[Paths]:
    """Each boundary between layers moved out and in, as far as the layers go; the outer form stays."""
    thickness = paths.thickness_mm
    step = float(np.hypot(LAYERING_MM, size_doubt_mm))
    last = thickness.shape[1] - 1
    for j in range(last):
        for out, into in ((j, j + 1), (j + 1, j)):
            taken = np.minimum(step, thickness[:, into])
            moved = thickness.copy()
            moved[:, out] += taken
            moved[:, into] -= taken
            yield replace(paths, thickness_mm=moved)
    if last >= 0 and size_doubt_mm > 0:
        for change in (size_doubt_mm, -size_doubt_mm):
            moved = thickness.copy()
            moved[:, last] = np.maximum(moved[:, last] + change, 0.0)
            yield replace(paths, thickness_mm=moved)
