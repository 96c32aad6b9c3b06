"""Colours of thousands of points at once, over one set of layers.

With rho the reflectance of an endlessly thick layer, the two-flux equation of Kubelka & Munk (1931) has the
closed solution

    w = (r - rho) / (1 - rho r)          w on top of a layer = w beneath it * exp(-2 sqrt(K (K + 2S)) d)

so that a layer costs one exp and one product. To go from the w of one layer to that of the next, across the
face between them and at last out through the outer face, is a fraction (a w + b) / (c w + 1) whose numbers
depend on the wavelength alone. The same values as stack.reflectance_within(), in another order of sums.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.colour.faces import across, both_sides, outer_face
from firstbake.colour.layers import thick_reflectance
from firstbake.colour.observer import lab_from_xyz, weights_of
from firstbake.colour.stack import Stack
from firstbake.errors import BadInput

Floats = NDArray[np.float64]
_Work = NDArray[Any]
_Kind = type[np.float32] | type[np.float64]

#: Points worked on at a time, so that the work arrays stay in the fast memory of a core (measured here).
BLOCK = 1000
# Below this K/S a layer keeps so much light that 24 bits do not hold 1 - rho any more: 53 are taken.
_SINGLE_FROM = 1e-4
# rho must stay below 1; light lost by this least K/S cannot be seen (under 1e-6 of reflectance at S d = 100).
_LEAST_SHARE = 1e-10
_SAME_INDEX = 1e-9


@dataclass(frozen=True, eq=False)
class _Steps:
    """What does not depend on the points: start (w,), decay (m, w) in 1/mm, links (m, 3, w) of a, b, c."""

    start: Floats
    decay: Floats
    links: Floats
    kind: _Kind


def labs_of(
    stack: Stack,
    thickness_mm: ArrayLike,
    *,
    geometry: str,
    illuminant: str = "D65",
    observer: str = "2",
) -> Floats:
    """(p, 3) CIELAB seen from outside of p points.

    thickness_mm : (p, m) of each layer of the stack from the bottom up, at least 0
    geometry     : one of faces.GEOMETRIES
    illuminant, observer : one of ILLUMINANTS and of OBSERVERS
    accuracy     : within 0.001 CIEDE2000 of the exact sum (24 bits inside; 53 where a layer hardly absorbs)
    raises       : BadInput on an unknown name, and when the thicknesses do not fit the stack
    """
    steps, thickness = _prepared(stack, thickness_mm, geometry)
    weights: _Work = np.array(weights_of(illuminant, observer).T, dtype=steps.kind)
    xyz = np.empty((len(thickness), 3))
    for part, seen in _blocks(steps, thickness):
        xyz[part] = (weights @ seen).T
    return lab_from_xyz(xyz, illuminant=illuminant, observer=observer)


def spectra_of(stack: Stack, thickness_mm: ArrayLike, *, geometry: str) -> Floats:
    """(p, w) reflectance seen from outside of p points; as labs_of(), one row for each point."""
    steps, thickness = _prepared(stack, thickness_mm, geometry)
    found = np.empty((len(thickness), len(steps.start)))
    for part, seen in _blocks(steps, thickness):
        found[part] = seen.T
    return found


def _prepared(stack: Stack, thickness_mm: ArrayLike, geometry: str) -> tuple[_Steps, Floats]:
    thickness = np.asarray(thickness_mm, dtype=np.float64)
    layers = len(stack.index)
    if layers == 0:
        raise BadInput("a stack without layers has no points to work out; take the colour of its ground")
    if thickness.ndim != 2 or thickness.shape[1] != layers:
        raise BadInput(f"{layers} layers need thicknesses of shape (points, {layers}), got {thickness.shape}")
    if not np.isfinite(thickness).all() or (thickness < 0).any():
        raise BadInput("a layer's thickness must be a finite number of at least 0 mm")
    return _steps(stack, geometry), thickness


def _steps(stack: Stack, geometry: str) -> _Steps:
    scattering = stack.scattering_per_mm
    absorption = np.maximum(stack.absorption_per_mm, _LEAST_SHARE * scattering)
    rho = thick_reflectance(absorption, scattering)
    first = np.asarray(stack.end.reflectance, dtype=np.float64)
    below = stack.end.index
    if below is not None and abs(below - stack.index[0]) > _SAME_INDEX:
        first = across(first, index_beneath=below, index_above=stack.index[0])
    links = []
    for j, index in enumerate(stack.index):
        matrix = _matrix(np.ones_like(rho[j]), rho[j], rho[j], np.ones_like(rho[j]))
        if j + 1 < len(stack.index):
            above = stack.index[j + 1]
            matrix = _entering(rho[j + 1]) @ _face(index, above) @ matrix
        else:
            face = outer_face(index, geometry)
            seen = np.array([[face.passed - face.mirror * face.inside, face.mirror], [-face.inside, 1.0]])
            matrix = seen @ matrix
        links.append((matrix / matrix[:, 1:, 1:])[:, (0, 0, 1), (0, 1, 0)].T)
    low = bool((absorption < _SINGLE_FROM * scattering).any())
    return _Steps(
        (first - rho[0]) / (1.0 - rho[0] * first),
        -2.0 * np.sqrt(absorption * (absorption + 2.0 * scattering)),
        np.array(links),
        np.float64 if low else np.float32,
    )


def _matrix(a: Floats, b: Floats, c: Floats, d: Floats) -> Floats:
    """(w, 2, 2) of the fraction (a r + b) / (c r + d)."""
    return np.stack([np.stack([a, b], axis=-1), np.stack([c, d], axis=-1)], axis=-2)


def _entering(rho: Floats) -> Floats:
    """From the reflectance to the w of a layer."""
    return _matrix(np.ones_like(rho), -rho, -rho, np.ones_like(rho))


def _face(beneath: float, above: float) -> Floats:
    """(2, 2) of the face between two layers; nothing where their indices agree."""
    if abs(beneath - above) <= _SAME_INDEX:
        return np.eye(2)
    from_above, from_beneath = both_sides(beneath, above)
    return np.array([[1.0 - from_above - from_beneath, from_above], [-from_beneath, 1.0]])


def _blocks(steps: _Steps, thickness: Floats) -> Iterator[tuple[slice, _Work]]:
    """(points, (w, b) reflectance seen) of one block after the other; the array is used again."""
    kind = steps.kind
    decay = steps.decay.astype(kind)[:, :, None]
    links = steps.links.astype(kind)[..., None]
    start = steps.start.astype(kind)[:, None]
    columns = np.ascontiguousarray(thickness.T, dtype=kind)
    size = min(BLOCK, len(thickness))
    work = np.empty((3, len(steps.start), size), dtype=kind)
    for begin in range(0, len(thickness), BLOCK):
        part = slice(begin, min(begin + BLOCK, len(thickness)))
        w, up, down = work[:, :, : part.stop - part.start]
        for j in range(len(decay)):
            np.multiply(decay[j], columns[j, part], out=up)
            np.exp(up, out=up)
            np.multiply(up, w if j else start, out=w)
            np.multiply(w, links[j, 0], out=up)
            up += links[j, 1]
            np.multiply(w, links[j, 2], out=down)
            down += kind(1)
            np.divide(up, down, out=w)
        yield part, w
