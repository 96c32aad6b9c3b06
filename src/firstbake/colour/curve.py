"""How the colour of a zone goes with the room for porcelain."""

import numpy as np
from numpy.typing import NDArray

from firstbake.colour.doubt import spreads_at
from firstbake.colour.paths import Paths, labs_at
from firstbake.colour.places import Place
from firstbake.colour.recipe import Recipe
from firstbake.colour.zone import ThicknessCurve

Floats = NDArray[np.float64]

_COATS = ("liner", "opaque", "opaque-dentine")
_POINTS = 41
_SPAN = (0.25, 2.0)  # of the planned room
_LEAST_SPAN_MM, _MOST_SPAN_MM = 0.2, 2.5


def thickness_curve(place: Place, recipe: Recipe, *, size_doubt_mm: float = 0.0) -> ThicknessCurve | None:
    """The colour of this zone in less and in more room, or None where it has no layer that could change.

    The room runs from a quarter to twice the planned one, at least up to 2.5 mm of porcelain and never below
    0.2 mm above the coats.
    """
    thickness = np.array(recipe.thickness_mm)
    grows = np.array([powder.role not in _COATS for powder, _ in place.layers], dtype=np.bool_)
    body = float(thickness[grows].sum()) if len(thickness) else 0.0
    if body <= 0:
        return None
    coats = float(thickness[~grows].sum())
    first = max(_SPAN[0] * body, min(_LEAST_SPAN_MM, body))
    last = max(_SPAN[1] * body, _MOST_SPAN_MM - coats)
    bodies = np.linspace(first, last, _POINTS)
    several = np.where(grows, thickness * (bodies / body)[:, None], thickness)
    paths = Paths(recipe.optics, several, recipe.ground, recipe.geometry)
    spread = spreads_at(paths, free=place.free, size_doubt_mm=size_doubt_mm)
    return ThicknessCurve(bodies + coats, labs_at(paths), spread.lab, body + coats)
