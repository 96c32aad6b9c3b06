"""Readings of different geometries, brought to one before they are compared."""

from dataclasses import dataclass, replace

import numpy as np

from firstbake.colour import GEOMETRIES, delta_e00, lab_from_reflectance, outer_face
from firstbake.errors import BadInput
from firstbake.target.reading import Floats, Lab, Reading, target_lab

#: Refractive index of the body behind the face: veneering porcelain 1.50 (from memory, unverified).
INDEX = 1.5
# Enamel is 1.631 (Meng et al. 2009, doi 10.1117/1.3130322): how far the index may be from INDEX.
_OTHER_INDEX = 1.63
# 45/0 from d/8 without the mirror part agreed with a many-stream solution to 0.01 to 0.04 for opaque,
# dentine-like and enamel-like bodies (reference work for this project).
_METHOD_DELTA_E00 = 0.04
# Share of the mirror reflection that a surface short of a mirror polish sends elsewhere (chosen here).
_GLOSS_SHARE = 0.25


@dataclass(frozen=True, eq=False)
class Compared:
    """A colour in the geometry asked for.

    reading         : in that geometry     lab : CIELAB, D65, 2 degrees
    doubt_delta_e00 : that the conversion adds, one standard deviation, 0 where none was needed
    note            : what was done, "" where nothing was
    """

    reading: Reading
    lab: Lab
    doubt_delta_e00: float
    note: str


def compared_as(reading: Reading, geometry: str, *, index: float = INDEX) -> Compared:
    """The reading as it would have been in another geometry.

    geometry : one of colour.GEOMETRIES      index : refractive index of the body that was measured
    method   : the outer face of the one geometry taken off and that of the other put on (colour.outer_face:
               Saunderson's factors). 45/0 and d/8 without the specular part differ by a factor; d/8 with it
               has the mirror reflection taken off
    doubt    : half the change by an index of 1.63 (taken as a 2 s.d. span), the error of the method, and a
               quarter of the mirror part wherever it comes or goes; added in quadrature
    raises   : BadInput when the reading does not say its geometry, or is CIELAB only and of another one
    """
    if geometry not in GEOMETRIES:
        raise BadInput(f'geometry "{geometry}" is not one of: {"; ".join(GEOMETRIES)}')
    if reading.geometry is None:
        raise BadInput(
            f"{reading.what} does not say how it was looked at; state its geometry "
            f"({'; '.join(GEOMETRIES)}) before it is compared"
        )
    if reading.geometry == geometry:
        return Compared(reading, target_lab(reading), 0.0, "")
    if not reading.is_spectrum:
        raise BadInput(
            f"{reading.what} is L*, a*, b* only, measured {reading.geometry}; without a spectrum it cannot "
            f"be compared as {geometry}"
        )
    turned = _turned(reading.on_grid(), reading.geometry, geometry, index=index)
    if turned.min() < 0.0:
        raise BadInput(
            f"{reading.what} sends back less than the mirror reflection of its face, so it was not measured "
            f"{reading.geometry}; check the geometry"
        )
    doubt = _doubt(reading.on_grid(), reading.geometry, geometry, index=index)
    note = f"measured {reading.geometry}, converted to {geometry} (doubt {doubt:.1f} ΔE00)"
    moved = replace(
        reading,
        wavelength_nm=np.arange(400.0, 701.0, 10.0),
        reflectance=turned,
        lab=None,
        illuminant="",
        observer="",
        geometry=geometry,
        notes=(*reading.notes, note),
    )
    return Compared(moved, target_lab(moved), doubt, note)


def _turned(seen: Floats, now: str, wanted: str, *, index: float, gloss: float = 1.0) -> Floats:
    """(31,) in the wanted geometry; gloss : share of the mirror part that the face really mirrors."""
    here, there = outer_face(index, now), outer_face(index, wanted)
    body = here.internal(seen + (1.0 - gloss) * here.mirror)
    return np.asarray(there.seen(body) - (1.0 - gloss) * there.mirror)


def _doubt(seen: Floats, now: str, wanted: str, *, index: float) -> float:
    straight = lab_from_reflectance(_turned(seen, now, wanted, index=index))
    by_index = lab_from_reflectance(_turned(seen, now, wanted, index=_OTHER_INDEX))
    parts = [_METHOD_DELTA_E00, 0.5 * float(delta_e00(straight, by_index))]
    duller = lab_from_reflectance(_turned(seen, now, wanted, index=index, gloss=1.0 - _GLOSS_SHARE))
    parts.append(float(delta_e00(straight, duller)))
    return float(np.sqrt(np.sum(np.square(parts))))


def stated_as(reading: Reading, geometry: str) -> Reading:
    """A reading whose file does not say its geometry, with the geometry a person states for it."""
    if reading.geometry is not None:
        raise BadInput(f"{reading.what} already says {reading.geometry}; it cannot be stated as {geometry}")
    return replace(reading, geometry=geometry, notes=(*reading.notes, f"geometry stated as {geometry}"))
