"""The unit of a file, found from the size of what it holds."""

import numpy as np

from firstbake.errors import BadMesh
from firstbake.mesh.patches import face_components
from firstbake.mesh.surface import Floats, Ints

MM_PER_UNIT = {"um": 0.001, "mm": 1.0, "cm": 10.0, "inch": 25.4, "m": 1000.0}
_OTHER_NAMES = {
    "µm": "um", "μm": "um", "micron": "um", "micrometer": "um", "micrometre": "um",
    "millimeter": "mm", "millimetre": "mm", "centimeter": "cm", "centimetre": "cm",
    "in": "inch", "inches": "inch", "meter": "m", "metre": "m",
}  # fmt: skip

# Largest extent that is taken for one tooth or one row, mm. A single crown measures 6 to 25, a tooth with
# its root up to about 32, an arch 40 to 110: common practice, no published source; 5 leaves room for a
# short core.
_FOUND_MM = {"single": (5.0, 32.0), "row": (5.0, 110.0)}
_GIVEN_MM = {"single": (3.0, 40.0), "row": (3.0, 150.0)}  # wider, because the unit was stated. Chosen here


def unit_name(unit: str) -> str:
    """The short name of a unit: um, mm, cm, inch or m. raises : BadMesh for any other word."""
    key = unit.strip().lower()
    key = _OTHER_NAMES.get(key, key)
    if key not in MM_PER_UNIT:
        raise BadMesh(f"'{unit}' is not a unit known here; use one of {', '.join(MM_PER_UNIT)}")
    return key


def main_extent(vertices: Floats, faces: Ints) -> float:
    """Largest side of the box round the main bodies (at least a tenth of the largest box), in file units."""
    body = face_components(faces, len(vertices))
    count = int(body.max()) + 1
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    for k in range(3):
        np.minimum.at(low, body, vertices[faces[:, k]])
        np.maximum.at(high, body, vertices[faces[:, k]])
    side = (high - low).max(axis=1)
    main = side >= 0.1 * side.max()
    return float((high[main].max(axis=0) - low[main].min(axis=0)).max())


def find_unit(extent: float, *, unit: str | None, row: bool, name: str) -> str:
    """The unit of a file: um, mm, cm, inch or m.

    extent : largest side of the box round what it holds, in its own unit
    unit   : the stated unit, which wins when a tooth can have that size; None to find it
    row    : True when the file may hold a row of teeth
    raises : BadMesh when no unit fits, or when several fit and mm is not among them
    """
    kind = "row" if row else "single"
    if unit is not None:
        given = unit_name(unit)
        low, high = _GIVEN_MM[kind]
        size = extent * MM_PER_UNIT[given]
        if not low <= size <= high:
            raise BadMesh(
                f"{name}: with the unit {given} it would measure {size:.4g} mm, and no {_WORDS[kind]} has "
                f"that size ({low:g} to {high:g} mm); check the unit and the file"
            )
        return given
    low, high = _FOUND_MM[kind]
    fits = [u for u, mm in MM_PER_UNIT.items() if low <= extent * mm <= high]
    if "mm" in fits or len(fits) == 1:
        return "mm" if "mm" in fits else fits[0]
    if not fits:
        raise BadMesh(
            f"{name}: no tooth has this size in any unit (largest side {extent:.4g} in the file's own unit); "
            "check that the file holds one tooth or a row, and nothing else"
        )
    sizes = " or ".join(f"{extent * MM_PER_UNIT[u]:.3g} mm if the unit is {u}" for u in fits)
    raise BadMesh(
        f"{name}: the unit is not clear: it would measure {sizes}; "
        f'give the right one, for example unit = "{fits[0]}"'
    )


_WORDS = {"single": "tooth", "row": "row of teeth"}


def scale_to_mm(vertices: Floats, unit: str) -> Floats:
    """(n, 3) vertices in mm from vertices in the given unit. raises : BadMesh for an unknown unit."""
    return vertices * MM_PER_UNIT[unit_name(unit)]
