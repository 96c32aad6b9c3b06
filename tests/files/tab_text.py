"""CSV text of tabs with known numbers, in every form that the reader takes."""

import numpy as np

from firstbake.colour import across, layer, outer_face, over
from firstbake.powder import parametric_optics

NM = list(range(400, 701, 10))
FACE = outer_face(1.5, "d/8 specular excluded")


def columns(*, contact="optical contact", sizes=(0.5, 1.0), numbers=(3.0, 0.9, 0.0411, 1.0946), noise=None):
    """Black tile, white tile, then each tab over black and white: (n, 31) reflectances."""
    optics = parametric_optics(*numbers)
    rng = np.random.default_rng(noise)
    tiles = [np.full(31, 0.03), np.full(31, 0.87)]
    found = list(tiles)
    for mm in sizes:
        r, t = layer(optics.absorption_per_mm, optics.scattering_per_mm, mm)
        for tile in tiles:
            air = across(tile, index_beneath=1.0, index_above=1.5)
            found.append(FACE.seen(over(r, t, FACE.internal(tile) if contact == "optical contact" else air)))
    lift = 0.0 if noise is None else 0.002 * rng.standard_normal((len(found), 31))
    return np.maximum(np.array(found) + lift, 0.0)


def text_of(spectra, *, sizes=(0.5, 1.0), delimiter=";", comma=True, percent=True, falling=False, **rows):
    """A file of those columns; rows: header rows to change, None leaves one out."""

    def number(value):
        text = f"{float(value):.12f}"
        return text.replace(".", ",") if comma else text

    def cell(text):
        return f'"{text}"' if delimiter in text else text

    header = {
        "powder": ["my powder"],
        "role": ["dentine"],
        "geometry": ["d/8 spex"],
        "instrument": ["bench"],
        "aperture mm": ["4"],
        "date": ["2026-03-01"],
        "what": ["black tile", "white tile"] + ["tab"] * (2 * len(sizes)),
        "thickness mm": ["", ""] + [number(mm) for mm in sizes for _ in range(2)],
        "backing": ["", ""] + ["black", "white"] * len(sizes),
        "contact": ["optical contact"],
    }
    for key, value in rows.items():
        header[key.replace("_", " ")] = value
    lines = [[key, *cells] for key, cells in header.items() if cells is not None]
    order = range(30, -1, -1) if falling else range(31)
    factor = 100 if percent else 1
    lines += [[str(NM[k]), *(number(factor * s[k]) for s in spectra)] for k in order]
    return "\n".join(delimiter.join(cell(c) for c in line) for line in lines) + "\n"
