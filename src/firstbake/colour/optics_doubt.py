"""How well absorption and scattering of a powder or core are known, and what that does to a colour."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from firstbake.colour.difference import delta_e00
from firstbake.colour.paths import Paths, labs_at
from firstbake.powder import Optics

Floats = NDArray[np.float64]

#: Relative scatter of absorption and of scattering of a measured powder whose card states no doubt: 3 to 5 %
#: at a fitting specimen thickness, from a noise study of this project's reference (simulated); twice that
#: where nobody measured.
MEASURED_SHARE = 0.05
UNMEASURED_SHARE = 0.10
#: Edges between the bands in which errors go together, nm (chosen here: blue, green, red).
BAND_EDGES_NM = (495.0, 595.0)


def moved_optics(optics: Optics) -> Iterator[Optics]:
    """The optics with one independent source of their doubt after the other moved by its standard deviation.

    Without standard deviations on the card: absorption, then scattering, at all wavelengths at once, by
    MEASURED_SHARE or UNMEASURED_SHARE.
    With them, since a card states no correlation, this is taken (chosen here):
    - the least relative deviation over all wavelengths, of absorption and of scattering, is one common factor
      on both: it is what a wrong thickness of the tab does, and it cannot be larger than the least;
    - what is left of each variance goes together within blue, green and red, and is independent between these
      three and between absorption and scattering. Noise alone would go together less (so this leans to the
      large side), a scattering that was drawn on into a band goes together about so.
    """
    absorption, scattering = (
        np.asarray(v, dtype=np.float64) for v in (optics.absorption_per_mm, optics.scattering_per_mm)
    )
    if optics.absorption_sd_per_mm is None or optics.scattering_sd_per_mm is None:
        share = MEASURED_SHARE if optics.status == "measured" else UNMEASURED_SHARE
        yield replace(optics, absorption_per_mm=absorption * (1.0 + share))
        yield replace(optics, scattering_per_mm=scattering * (1.0 + share))
        return
    sds = (np.asarray(optics.absorption_sd_per_mm), np.asarray(optics.scattering_sd_per_mm))
    common = min(_least_share(absorption, sds[0]), _least_share(scattering, sds[1]))
    if common > 0.0:
        yield replace(
            optics,
            absorption_per_mm=absorption * (1.0 + common),
            scattering_per_mm=scattering * (1.0 + common),
        )
    band = np.digitize(optics.wavelength_nm, BAND_EDGES_NM)
    for which in range(len(BAND_EDGES_NM) + 1):
        here = band == which
        rest = np.where(here, _rest(absorption, sds[0], common), 0.0)
        if rest.any():
            yield replace(optics, absorption_per_mm=absorption + rest)
        rest = np.where(here, _rest(scattering, sds[1], common), 0.0)
        if rest.any():
            yield replace(optics, scattering_per_mm=scattering + rest)


def basis_of(optics: Optics) -> str:
    """What the doubt of these optics rests on, in words."""
    if optics.absorption_sd_per_mm is not None and optics.scattering_sd_per_mm is not None:
        return "standard deviations on its card"
    if optics.status == "measured":
        return f"{MEASURED_SHARE:.0%} assumed, measured without a stated doubt"
    return f"{UNMEASURED_SHARE:.0%} assumed, not measured"


def moved_paths(paths: Paths) -> Iterator[Paths]:
    """The layers with each source moved; a powder moves in all of its layers at once, as one bottle."""
    for one in {id(optics): optics for optics in paths.optics}.values():
        for other in moved_optics(one):
            yield replace(paths, optics=tuple(other if optics is one else optics for optics in paths.optics))
    if paths.ground.core is not None:
        for core in moved_optics(paths.ground.core):
            yield replace(paths, ground=replace(paths.ground, core=core))


def identification_errors(paths: Paths) -> Floats:
    """(p,) the part of the doubt that comes from the optics of powders and core, CIEDE2000, one s.d."""
    middle = labs_at(paths)
    total = np.zeros(len(middle))
    for moved in moved_paths(paths):
        total += delta_e00(labs_at(moved), middle) ** 2
    return np.asarray(np.sqrt(total))


def _least_share(values: Floats, sd: Floats) -> float:
    """Least relative standard deviation; a value of 0 tells nothing about a factor."""
    known = values > 0.0
    return float((sd[known] / values[known]).min()) if known.any() else np.inf


def _rest(values: Floats, sd: Floats, common: float) -> Floats:
    """Standard deviation that is left once the common factor is taken out."""
    if not np.isfinite(common):
        return sd
    return np.asarray(np.sqrt(np.maximum(sd**2 - (common * values) ** 2, 0.0)))
