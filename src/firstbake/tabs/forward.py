"""What the instrument should read over a tab, from absorption, scattering and what lies under it."""

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.colour import across, layer, outer_face, over
from firstbake.tabs.tab import TabSet

Floats = NDArray[np.float64]

_HIGHEST_INSIDE = 0.9999
_face = cache(outer_face)


def under_tab(tile: ArrayLike, tabs: TabSet, *, contact: str) -> Floats:
    """Reflectance that the tab's lower side meets, seen from inside the ceramic, unit 1.

    tile    : reflectance of the bare tile as read, any shape      contact : one of CONTACTS
    formula : with fluid, the tile's own body (its outer face taken away) through the face between both
              indices; with air between, the face to the air with the tile as read behind it. A black tile is
              never 0: 0.03 gives 0.074 with fluid and 0.607 with air between, at index 1.5.
    """
    seen = np.asarray(tile, dtype=np.float64)
    if contact == "air gap":
        return np.minimum(across(seen, index_beneath=1.0, index_above=tabs.index), _HIGHEST_INSIDE)
    body = np.clip(_face(tabs.tile_index, tabs.geometry).internal(seen), 0.0, _HIGHEST_INSIDE)
    if tabs.tile_index == tabs.index:
        return np.asarray(body)
    return across(body, index_beneath=tabs.tile_index, index_above=tabs.index)


def reading(
    absorption_per_mm: Floats, scattering_per_mm: Floats, thickness_mm: float, *, under: Floats, tabs: TabSet
) -> Floats:
    """Reflectance read over a tab, unit 1, of the shape of its parts.

    under : (..., 31) internal reflectance under the tab (under_tab()), one row for each tile
    """
    r, t = layer(absorption_per_mm, scattering_per_mm, thickness_mm)
    return _face(tabs.index, tabs.geometry).seen(over(r, t, under))
