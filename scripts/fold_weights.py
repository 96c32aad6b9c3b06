"""Writes src/firstbake/colour/weights.py and weights_10.py: colour weights at 10 nm, folded from 1 nm tables.

Needs colour-science (development dependency), which carries the CIE 1931 2 degree observer, the CIE 1964
10 degree observer and the CIE illuminants. Run from the repository root: python scripts/fold_weights.py
"""

from pathlib import Path

import numpy as np

import colour
from firstbake.colour.spectrum import grid_nm, lagrange_operator

ILLUMINANTS = ("D65", "D50", "A", "FL11", "LED-B3")
NAMES = {"FL11": "F11"}
OBSERVERS = {"2": "CIE 1931 2 Degree Standard Observer", "10": "CIE 1964 10 Degree Standard Observer"}
FILES = {"2": "weights.py", "10": "weights_10.py"}
SOURCES = {"2": "CIE 1931 2 degree observer", "10": "CIE 1964 10 degree observer"}
HEAD = '''"""Colour weights at 10 nm: observer times illuminant, folded from 1 nm (scripts/fold_weights.py).

One row for each wavelength from 400 to 700 nm: weights for X, Y and Z, scaled so that Y of the perfect
diffuser is 100. Each row holds the sum over 360 to 780 nm at 1 nm of observer x illuminant x the Lagrange
operator of colour.spectrum, so that no interpolation is left to do.
source : {observer} (ISO/CIE 11664-1), CIE illuminants (ISO/CIE 11664-2, CIE 15), taken from
         the tables in colour-science 0.4.7
"""

Rows = tuple[tuple[float, float, float], ...]

'''


def folded(illuminant: str, observer: str = "2") -> np.ndarray:
    """(31, 3) folded weights of one illuminant with the 2 or 10 degree observer."""
    shape = colour.SpectralShape(360, 780, 1)
    cmfs = colour.MSDS_CMFS[OBSERVERS[observer]].copy().align(shape)
    power = colour.SDS_ILLUMINANTS[illuminant].copy().align(shape)
    fine = cmfs.values * power.values[:, None]
    fine *= 100.0 / fine[:, 1].sum()
    return lagrange_operator(grid_nm(), shape.wavelengths).T @ fine


def text_of(observer: str) -> str:
    """The file of one observer."""
    text = HEAD.replace("{observer}", SOURCES[observer])
    for illuminant in ILLUMINANTS:
        name = NAMES.get(illuminant, illuminant)
        text += f"{name.replace('-', '_')}: Rows = (\n"
        for row in folded(illuminant, observer):
            text += "    (" + ", ".join(f"{value:.9f}" for value in row) + "),\n"
        text += ")\n\n"
    return text.rstrip("\n") + "\n"


def main() -> None:
    """Write the tables."""
    here = Path(__file__).resolve().parents[1] / "src" / "firstbake" / "colour"
    for observer, name in FILES.items():
        (here / name).write_text(text_of(observer), encoding="utf-8")


if __name__ == "__main__":
    main()
