"""How well absorption and scattering of a powder or core are known, and what that does to a colour."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from firstbake.colour.difference import delta_e00
from firstbake.colour.observer import lab_from_reflectance
from firstbake.colour.paths import Paths, spectra_at
from firstbake.powder import Optics

Floats = NDArray[np.float64]

#: Relative scatter of absorption and of scattering of a measured powder whose card states no doubt: 3 to 5 %
#: at a fitting specimen thickness, from a noise study of this project's reference (simulated); twice that
#: where nobody measured.
MEASURED_SHARE = 0.05
UNMEASURED_SHARE = 0.10
#: Neighbours on the grid whose errors go together where a card states standard deviations (chosen here).
TOGETHER = 3


def moved_optics(optics: Optics) -> Iterator[tuple[Optics, bool]]:
    """The optics with one source of their doubt after the other moved by its standard deviation.

    returns : the moved optics, and True where the move is to be taken in bands, see moved_spectra()
    Without standard deviations on the card: absorption, then scattering, at all wavelengths at once, by
    MEASURED_SHARE or UNMEASURED_SHARE.
    With them, since a card says nothing of how errors go together over the wavelengths (chosen here):
    - the least relative deviation over all wavelengths, of absorption and of scattering, goes together over
      all of them. Measured, it is one factor on both, as a wrong thickness of the tab makes it; with any
      other status (three bands from CIELAB) it is taken for each of the two by itself, which moves more;
    - what is left is independent from one band of TOGETHER wavelengths (30 nm) to the next, and goes together
      between absorption and scattering as the card's correlation says; without one, not at all. Noise of
      readings goes together less than in bands, so this leans to the large side.
    """
    absorption, scattering = (
        np.asarray(v, dtype=np.float64) for v in (optics.absorption_per_mm, optics.scattering_per_mm)
    )
    if optics.absorption_sd_per_mm is None or optics.scattering_sd_per_mm is None:
        share = MEASURED_SHARE if optics.status == "measured" else UNMEASURED_SHARE
        yield replace(optics, absorption_per_mm=absorption * (1.0 + share)), False
        yield replace(optics, scattering_per_mm=scattering * (1.0 + share)), False
        return
    sds = (np.asarray(optics.absorption_sd_per_mm), np.asarray(optics.scattering_sd_per_mm))
    common = min(_least_share(absorption, sds[0]), _least_share(scattering, sds[1]))
    more = replace(optics, absorption_per_mm=absorption * (1.0 + common))
    if optics.status == "measured":
        yield replace(more, scattering_per_mm=scattering * (1.0 + common)), False
    else:
        yield more, False
        yield replace(optics, scattering_per_mm=scattering * (1.0 + common)), False
    left = (_rest(absorption, sds[0], common), _rest(scattering, sds[1], common))
    along = np.zeros_like(left[0])
    if optics.correlation is not None:
        shared = optics.correlation * sds[0] * sds[1] - common**2 * absorption * scattering
        along = np.clip(shared / np.maximum(left[0], 1e-12), -left[1], left[1])
    across = np.sqrt(np.maximum(left[1] ** 2 - along**2, 0.0))
    moved = np.maximum(scattering + along, 0.0)
    yield replace(optics, absorption_per_mm=absorption + left[0], scattering_per_mm=moved), True
    yield replace(optics, scattering_per_mm=scattering + across), True


def basis_of(optics: Optics) -> str:
    """What the doubt of these optics rests on, in words."""
    if optics.absorption_sd_per_mm is not None and optics.scattering_sd_per_mm is not None:
        return "standard deviations on its card"
    if optics.status == "measured":
        return f"{MEASURED_SHARE:.0%} assumed, measured without a stated doubt"
    return f"{UNMEASURED_SHARE:.0%} assumed, not measured"


def moved_paths(paths: Paths) -> Iterator[tuple[Paths, bool]]:
    """The layers with each source moved as in moved_optics(); a powder moves in all of its layers at once."""
    for one in {id(optics): optics for optics in paths.optics}.values():
        for other, apart in moved_optics(one):
            laid = tuple(other if optics is one else optics for optics in paths.optics)
            yield replace(paths, optics=laid), apart
    if paths.ground.core is not None:
        for core, apart in moved_optics(paths.ground.core):
            yield replace(paths, ground=replace(paths.ground, core=core)), apart


def moved_spectra(paths: Paths, spectrum: Floats) -> Iterator[Floats]:
    """(p, 31) seen reflectance with one source of the optics' doubt after the other moved.

    spectrum : (p, 31) unmoved. A move in bands is one spectrum a band, since a wavelength sees the optics at
               itself alone
    """
    for moved, apart in moved_paths(paths):
        seen = spectra_at(moved)
        if not apart:
            yield seen
            continue
        for first in range(0, spectrum.shape[-1], TOGETHER):
            one = spectrum.copy()
            one[..., first : first + TOGETHER] = seen[..., first : first + TOGETHER]
            yield one


def identification_errors(paths: Paths) -> Floats:
    """(p,) the part of the doubt that comes from the optics of powders and core, CIEDE2000, one s.d."""
    spectrum = spectra_at(paths)
    middle = lab_from_reflectance(spectrum)
    total = np.zeros(len(middle))
    for seen in moved_spectra(paths, spectrum):
        total += delta_e00(lab_from_reflectance(seen), middle) ** 2
    return np.asarray(np.sqrt(total))


def _least_share(values: Floats, sd: Floats) -> float:
    """Least relative standard deviation, 0 where no value is known; a value of 0 tells nothing."""
    known = values > 0.0
    return float((sd[known] / values[known]).min()) if known.any() else 0.0


def _rest(values: Floats, sd: Floats, common: float) -> Floats:
    """Standard deviation that is left once the common factor is taken out."""
    return np.asarray(np.sqrt(np.maximum(sd**2 - (common * values) ** 2, 0.0)))
