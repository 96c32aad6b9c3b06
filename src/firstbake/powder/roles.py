"""What is usual for a role, where a card leaves a figure out."""

from firstbake.errors import BadCard
from firstbake.powder.figure import Figure

_PRACTICE = "common practice"
_NO_SOURCE = "common practice of the trade, no published source; usual for the role"

# Thinnest fired layer that still works, mm: value, low, high.
_LEAST_MM = {
    "liner": (0.05, 0.05, 0.10),
    "opaque": (0.15, 0.10, 0.20),
    "opaque-dentine": (0.10, 0.10, 0.20),
    "dentine": (0.30, 0.20, 0.40),
    "enamel": (0.15, 0.10, 0.20),
    "transparent": (0.10, 0.05, 0.15),
    "margin": (0.30, 0.20, 0.50),
}

# Usual fired thickness of a role that is laid as a thin layer, mm: value, low, high.
_LAYER_MM = {
    "liner": (0.10, 0.05, 0.15),
    "opaque": (0.20, 0.15, 0.30),
    "opaque-dentine": (0.20, 0.10, 0.40),
    "transparent": (0.15, 0.10, 0.30),
}


def least_of_role(role: str) -> Figure:
    """Thinnest fired layer of a powder of this role that still works, mm.

    raises : BadCard on an unknown role
    """
    if role not in _LEAST_MM:
        raise BadCard(f'role "{role}" is not one of {", ".join(_LEAST_MM)}')
    value, low, high = _LEAST_MM[role]
    return Figure(value, "mm", _PRACTICE, _NO_SOURCE, low, high)


def layer_of_role(role: str) -> Figure | None:
    """Usual fired thickness of a role laid as a thin layer, mm; None for a role that fills what is left."""
    if role not in _LAYER_MM:
        return None
    value, low, high = _LAYER_MM[role]
    return Figure(value, "mm", _PRACTICE, _NO_SOURCE, low, high)


def pore_liquid(green_relative_density: Figure, solid_density_g_per_cm3: Figure) -> Figure:
    """Liquid that just fills the pores of the green powder, ml/g: (1 - g) / (g d).

    g : green relative density, unit 1      d : density of the solid, g/cm3
    Mass balance of a saturated body; 0.272 ml/g at g = 0.60 and d = 2.45. Takes the status of g.
    """
    green = green_relative_density.value
    value = (1.0 - green) / (green * solid_density_g_per_cm3.value)
    source = f"just fills the pores, worked out from the green density ({green_relative_density.source})"
    return Figure(value, "ml/g", green_relative_density.status, source)
