"""How far to trust a predicted colour: one standard deviation in CIEDE2000, from independent sources."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from firstbake.colour.difference import delta_e00
from firstbake.colour.ground import mouth_end, stump_end
from firstbake.colour.recipe import Recipe, lab_of, scattering_depth
from firstbake.colour.zone import Lab
from firstbake.powder import Optics

#: Hand scatter of each boundary between layers inside a fixed outer form, mm (from memory, unverified).
LAYERING_MM = 0.05
#: Scatter of a milled or cast core wall, mm (from memory, unverified).
WALL_MM = 0.05
#: Relative scatter of absorption and of scattering of a measured powder: 3 to 5 % at a fitting specimen
#: thickness, from a noise study of this project's reference (simulated); twice that where nobody measured.
MEASURED_SHARE = 0.05
UNMEASURED_SHARE = 0.10
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
_FREE_DEPTH, _FREE_ERROR = (0.25, 0.55, 1.1, 1.8, 3.3), (10.0, 5.0, 2.0, 1.5, 1.0)
_NO_LAYERS_ERROR = 0.5


def doubt_of(recipe: Recipe, *, free: bool, size_doubt_mm: float = 0.0) -> float:
    """One standard deviation of the predicted colour, CIEDE2000.

    free          : True where the back is open
    size_doubt_mm : standard deviation of every length, mm, where the form comes from callipers
    method        : every source moves the recipe by one standard deviation; the colour differences and the
                    model's own error are added as squares, which takes the sources as independent
    """
    middle = lab_of(recipe)
    total = model_error(recipe, free=free) ** 2
    for moved in _moved(recipe, free=free, size_doubt_mm=size_doubt_mm):
        total += float(delta_e00(lab_of(moved), middle)) ** 2
    return float(np.sqrt(total))


def model_error(recipe: Recipe, *, free: bool) -> float:
    """Error of the two-flux sum itself, CIEDE2000, one standard deviation."""
    depth = scattering_depth(recipe)
    if not recipe.bodies:
        return _NO_LAYERS_ERROR
    return float(
        np.interp(depth, _FREE_DEPTH, _FREE_ERROR) if free else np.interp(depth, _CORE_DEPTH, _CORE_ERROR)
    )


def _moved(recipe: Recipe, *, free: bool, size_doubt_mm: float) -> Iterator[Recipe]:
    """The recipe with one source after the other moved by its standard deviation."""
    yield from _boundaries(recipe, size_doubt_mm)
    yield from _optics(recipe)
    ground = recipe.ground
    if ground.core is not None:
        yield replace(recipe, ground=replace(ground, wall_mm=ground.wall_mm + WALL_MM))
        for core in _scattered(ground.core):
            yield replace(recipe, ground=replace(ground, core=core))
    if ground.stump is not None:
        for axis, step in enumerate(ASSUMED_STUMP_LAB if ground.assumed else STUMP_LAB):
            stump = list(ground.stump)
            stump[axis] += step if axis or stump[axis] + step < 95.0 else -step
            end = stump_end((stump[0], stump[1], stump[2]), geometry=recipe.geometry)
            yield replace(recipe, ground=replace(ground, end=end))
    if free:
        mouth = float(ground.end.reflectance[0]) + MOUTH_SHARE
        yield replace(recipe, ground=replace(ground, end=mouth_end(mouth)))


def _boundaries(recipe: Recipe, size_doubt_mm: float) -> Iterator[Recipe]:
    thickness = recipe.thickness_mm
    step = float(np.hypot(LAYERING_MM, size_doubt_mm))
    for j in range(len(thickness) - 1):
        taken = min(step, thickness[j + 1])
        moved = list(thickness)
        moved[j] += taken
        moved[j + 1] -= taken
        yield replace(recipe, thickness_mm=tuple(moved))
    if thickness and size_doubt_mm > 0:
        yield replace(recipe, thickness_mm=(*thickness[:-1], thickness[-1] + size_doubt_mm))


def _optics(recipe: Recipe) -> Iterator[Recipe]:
    """Each powder moved wherever it lies: a bottle is wrong in all of its layers at once."""
    for one in {id(optics): optics for optics in recipe.optics}.values():
        for other in _scattered(one):
            yield replace(
                recipe, optics=tuple(other if optics is one else optics for optics in recipe.optics)
            )


def _scattered(optics: Optics) -> tuple[Optics, Optics]:
    factor = 1.0 + (MEASURED_SHARE if optics.status == "measured" else UNMEASURED_SHARE)
    return (
        replace(optics, absorption_per_mm=np.asarray(optics.absorption_per_mm) * factor),
        replace(optics, scattering_per_mm=np.asarray(optics.scattering_per_mm) * factor),
    )
