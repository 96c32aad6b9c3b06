"""What the porcelain lies on: core over cement over stump, a bare metal, or nothing but the open mouth."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case
from firstbake.colour.faces import across, outer_face
from firstbake.colour.smooth import smooth_reflectance
from firstbake.colour.spectrum import grid_nm, on_grid
from firstbake.colour.stack import LowerEnd
from firstbake.colour.zone import Lab
from firstbake.errors import BadCard
from firstbake.powder import CoreMaterial, Optics

Floats = NDArray[np.float64]

#: Prepared dentine of ordinary colour, assumed where no stump is ordered (demo, invented here).
ORDINARY_STUMP: Lab = (72.0, 4.0, 21.0)
#: Refractive index of dentine: 1.540, s.d. 0.013 (Meng et al. 2009, doi 10.1117/1.3130322).
STUMP_INDEX = 1.54
#: Refractive index of a clear cement (from memory, unverified). Its film of about 0.05 mm takes away nothing.
CEMENT_INDEX = 1.50
#: Reflectance of the mouth behind an open edge (demo: a dark mouth; a lit one may reach 0.3).
MOUTH_REFLECTANCE = 0.05


@dataclass(frozen=True, eq=False)
class Ground:
    """The part of a stack under the porcelain.

    core    : the translucent core, or None for a metal and at a free edge      wall_mm : its wall, mm
    end     : what lies under that
    name    : of the core
    stump   : CIELAB under a translucent core, or None where no stump shows through
    assumed : True where the stump was not ordered but assumed
    stump_reflectance : (31,) seen of the stump where its spectrum was measured; None where CIELAB is all
    stump_doubt_delta_e00 : of its reading beside the usual scatter, as a change of geometry adds; 0 without
    """

    core: Optics | None
    wall_mm: float
    end: LowerEnd
    name: str
    stump: Lab | None
    assumed: bool
    stump_reflectance: Floats | None = None
    stump_doubt_delta_e00: float = 0.0


def ground_of(case: Case, *, geometry: str, stump: Lab | None = None) -> Ground:
    """The ground under the porcelain of this case.

    geometry : how the stump's colour was looked at, one of faces.GEOMETRIES
    stump    : CIELAB in place of the ordered one
    Where the order gives the stump's spectrum, that spectrum lies under the core and not its CIELAB.
    raises   : BadCard when the core's card gives neither optics nor a reflectance
    """
    material = case.core_material
    if material.optics is None:
        return Ground(None, 0.0, _metal_end(material), material.name, None, False)
    chosen = stump if stump is not None else case.target.stump
    shown = ORDINARY_STUMP if chosen is None else chosen
    measured = case.target.reflectance.get("stump") if stump is None else None
    spectrum = None if measured is None else np.array(measured, dtype=np.float64)
    end = stump_end(shown, geometry=geometry) if spectrum is None else _cemented(spectrum, geometry)
    doubt = 0.0 if stump is not None else case.target.doubt_delta_e00.get("stump", 0.0)
    assumed = chosen is None
    return Ground(material.optics, case.core_wall_mm, end, material.name, shown, assumed, spectrum, doubt)


def stump_end(stump: Lab, *, geometry: str) -> LowerEnd:
    """A stump of that colour under a clear film of cement.

    The smoothest reflectance of that colour is taken (see smooth_reflectance), its outer face removed for
    the index of dentine, and the face between dentine and cement put in its place.
    """
    return _cemented(smooth_reflectance(stump), geometry)


def moved_stump(ground: Ground, stump: Lab, *, geometry: str) -> Ground:
    """The ground with a stump a little off in colour; a measured spectrum keeps its shape.

    method : to a measured spectrum is added what sets the smoothest reflectances of both colours apart
    """
    seen = smooth_reflectance(stump)
    if ground.stump is not None and ground.stump_reflectance is not None:
        seen = np.clip(ground.stump_reflectance + seen - smooth_reflectance(ground.stump), 0.0, 1.0)
    return replace(ground, end=_cemented(seen, geometry))


def _cemented(seen: Floats, geometry: str) -> LowerEnd:
    """A stump by what is seen of it in air, (31,) reflectance, under a clear film of cement."""
    inside = np.clip(outer_face(STUMP_INDEX, geometry).internal(seen), 0.0, 1.0)
    return LowerEnd(across(inside, index_beneath=STUMP_INDEX, index_above=CEMENT_INDEX), CEMENT_INDEX)


def opaque_end(seen: Floats, *, index: float, geometry: str) -> LowerEnd:
    """An opaque ceramic core by what is seen of it in air, (31,) reflectance, and its refractive index."""
    return LowerEnd(np.clip(outer_face(index, geometry).internal(seen), 0.0, 1.0), index)


def mouth_end(reflectance: float = MOUTH_REFLECTANCE) -> LowerEnd:
    """The open mouth behind a free edge: air, and a hollow of that reflectance behind it."""
    return LowerEnd(np.full(len(grid_nm()), reflectance), 1.0)


def free_ground(reflectance: float = MOUTH_REFLECTANCE) -> Ground:
    """No core: the back of the porcelain is open to the mouth."""
    return Ground(None, 0.0, mouth_end(reflectance), "open mouth", None, False)


def _metal_end(material: CoreMaterial) -> LowerEnd:
    """Bare metal has no body: its measured reflectance, mirror part included, stands as it is."""
    if material.reflectance is None or material.reflectance_nm is None:
        raise BadCard(
            f'core "{material.name}" has neither optics nor a reflectance, so its colour cannot be worked '
            "out; add one of the two to its card"
        )
    found = on_grid(material.reflectance_nm, material.reflectance, what=f'core "{material.name}"')
    return LowerEnd(np.clip(found, 0.0, 1.0), None)
