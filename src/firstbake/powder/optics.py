"""Optics from five numbers: a power law for scattering, two bands for absorption."""

import numpy as np

from firstbake.errors import BadCard
from firstbake.powder.figure import STATUSES
from firstbake.powder.powder import Optics

FIRST_NM = 400.0
LAST_NM = 700.0
STEP_NM = 10.0

# Shape constants of the absorption bands, nm. Invented (demo) so that absorption rises toward blue and has a
# pink band near green, as published for porcelain and dentine (O'Brien, Johnston & Fanian 1985).
_BLUE_DECAY_NM = 60.0
_PINK_CENTRE_NM = 530.0
_PINK_WIDTH_NM = 45.0
_SCATTER_REFERENCE_NM = 550.0


def parametric_optics(
    s550_per_mm: float,
    p: float,
    k0_per_mm: float,
    kb_per_mm: float,
    *,
    kg_per_mm: float = 0.0,
    index: float = 1.5,
    status: str = "demo",
    source: str = "demo",
) -> Optics:
    """Optics on 400 to 700 nm at 10 nm, from five numbers.

    s550_per_mm : scattering at 550 nm, 1/mm, at least 0
    p           : exponent of the fall of scattering with wavelength, unit 1
    k0_per_mm, kb_per_mm, kg_per_mm : grey, blue and green (pink-making) absorption, 1/mm, each at least 0
    index       : refractive index of the fired ceramic, unit 1 (about 1.50 feldspathic, 2.2 zirconia;
                  from memory, unverified)
    formula : S = s550 (550/w)^p;  K = k0 + kb exp(-(w-400)/60) + kg exp(-((w-530)/45)^2 / 2), w in nm.
              A form of this project's own for demo powders, not a law of nature.
    raises  : BadCard on a number that is not finite, below 0, an index below 1, or an unknown status
    """
    numbers = {
        "s550_per_mm": s550_per_mm,
        "k0_per_mm": k0_per_mm,
        "kb_per_mm": kb_per_mm,
        "kg_per_mm": kg_per_mm,
    }
    for name, value in numbers.items():
        if not (np.isfinite(value) and value >= 0.0):
            raise BadCard(f"optics: {name} is {value}, it must be a finite number of at least 0 per mm")
    if not np.isfinite(p):
        raise BadCard(f"optics: p is {p}, it must be a finite number")
    if not (np.isfinite(index) and index >= 1.0):
        raise BadCard(f"optics: index is {index}, a refractive index is at least 1")
    if status not in STATUSES:
        raise BadCard(f'optics: status "{status}" is not one of {", ".join(STATUSES)}')
    if not source.strip():
        raise BadCard("optics need a source; say where the numbers come from")
    nm = np.arange(FIRST_NM, LAST_NM + STEP_NM / 2, STEP_NM)
    scattering = s550_per_mm * (_SCATTER_REFERENCE_NM / nm) ** p
    absorption = (
        k0_per_mm
        + kb_per_mm * np.exp(-(nm - FIRST_NM) / _BLUE_DECAY_NM)
        + kg_per_mm * np.exp(-0.5 * ((nm - _PINK_CENTRE_NM) / _PINK_WIDTH_NM) ** 2)
    )
    for array in (nm, scattering, absorption):
        array.setflags(write=False)
    return Optics(nm, absorption, scattering, float(index), status, source)
