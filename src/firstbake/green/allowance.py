"""Porcelain on top of the wanted contour: what grinding takes off, and what makes the contacts tight."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstbake.case import Case
from firstbake.green.growth import swept_volume_mm3
from firstbake.green.laws import smoothstep
from firstbake.layering import Layers
from firstbake.mesh import Floats, nearest, winding_number

_TOUCHING_MM = 0.5  # a wider gap to the neighbour is left open on purpose (judgement, no source)
_FULL_MM, _GONE_MM = 0.5, 1.5  # the extra at a contact is whole within the first, gone beyond the second


@dataclass(frozen=True, eq=False)
class Extra:
    """Fired porcelain beyond the wanted contour (n vertices).

    field_mm   : (n,) its thickness
    outermost  : (n,) number of the layer it belongs to, the last one with a thickness there; -1 for none
    volumes_mm3 : (m,) its fired volume by layer
    """

    field_mm: Floats
    outermost: NDArray[np.int64]
    volumes_mm3: Floats


def contact_places(case: Case) -> tuple[Floats | None, ...]:
    """For each neighbour the (3,) vertex of the contour nearest to it (or deepest in it), mm.

    None where it stays farther away than 0.5 mm: such a gap is left open on purpose.
    """
    contour = case.contour.surface
    places: list[Floats | None] = []
    for neighbour in case.neighbours:
        gap = nearest(neighbour.surface, contour.vertices_mm).distance_mm
        close = np.flatnonzero(gap < _GONE_MM)
        if len(close) == 0 or gap.min() > _TOUCHING_MM:
            places.append(None)
            continue
        inside = winding_number(neighbour.surface, contour.vertices_mm[close]) > 0.5
        signed = np.where(inside, -gap[close], gap[close])
        places.append(contour.vertices_mm[close[np.argmin(signed)]])
    return tuple(places)


def _fade(case: Case, total_mm: Floats) -> Floats:
    """(n,) 0 at the margin and where there is no porcelain, 1 beyond the margin band."""
    contour, band = case.contour.surface, case.limits.margin_band_mm
    veneered = total_mm > 1e-9
    ends = ~veneered
    for loop in contour.loops:
        ends[loop] = True
    if band <= 0 or not ends.any():
        return np.asarray(veneered.astype(np.float64))
    distance, _ = cKDTree(contour.vertices_mm[ends]).query(contour.vertices_mm)
    return np.asarray(smoothstep(distance / band) * veneered)


def extra_of(case: Case, layers: Layers) -> Extra:
    """The grind-off over the whole contour and the extra at each contact, as fired porcelain.

    The grind-off fades out within the margin band; the contact extra is whole within 0.5 mm of the nearest
    point to the neighbour and gone at 1.5 mm. Both belong to the outermost powder at each vertex. The
    volume is what the contour sweeps when moved along its normals by field_mm.
    """
    contour = case.contour.surface
    thickness = np.vstack([np.maximum(layer.thickness_mm, 0.0) for layer in layers.layers])
    fade = _fade(case, thickness.sum(axis=0))
    bump = np.zeros(len(fade))
    for place in contact_places(case):
        if place is not None:
            distance = np.linalg.norm(contour.vertices_mm - place, axis=1)
            bump = np.maximum(bump, 1 - smoothstep((distance - _FULL_MM) / (_GONE_MM - _FULL_MM)))
    field = fade * (case.allowances.grind_off_mm + case.allowances.contact_mm * bump)
    there = thickness > 1e-9
    last = len(thickness) - 1 - np.argmax(there[::-1], axis=0)
    outermost = np.where(there.any(axis=0), last, -1)
    volume = swept_volume_mm3(contour, field[:, None] * contour.vertex_normals) if field.any() else 0.0
    weight = field * contour.vertex_areas_mm2
    shares = np.array([weight[outermost == row].sum() for row in range(len(thickness))])
    return Extra(field, outermost, volume * shares / max(float(weight.sum()), 1e-300))
