"""Columns: the layers met on the way from the core to each vertex of the contour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.layering.blend import smooth_step
from firstbake.layering.choice import Choice, layer_mm
from firstbake.layering.cut_back import CutBack
from firstbake.layering.enamel import Site, by_height
from firstbake.layering.field import CutBackField
from firstbake.mesh import Floats, Surface
from firstbake.powder import Powder
from firstbake.room import Room

_SAMPLES = 17
_TRANSPARENT_SHARE = 0.4
_PRESCRIBED_SHARE = 2.0 / 3.0
_OPAQUE_DENTINE_SHARE = 0.5
_SHORT_BY_MM = 0.3


@dataclass(frozen=True, eq=False)
class Wishes:
    """Thickness of the optional thin layers at the site's vertices where there is room for them, (k,) mm.

    coats_mm : one array per coat, from the core outward
    transparent_share : most of the enamel that transparent takes, unit 1
    """

    coats_mm: tuple[Floats, ...]
    opaque_dentine_mm: Floats
    transparent_mm: Floats
    transparent_share: float = _TRANSPARENT_SHARE

    def spread(self, field: CutBackField) -> "Wishes":
        """The same over the whole contour, 0 where nothing is veneered."""
        coats = tuple(field.spread(coat) for coat in self.coats_mm)
        thin = field.spread(self.opaque_dentine_mm), field.spread(self.transparent_mm)
        return Wishes(coats, *thin, self.transparent_share)


@dataclass(frozen=True, eq=False)
class Parts:
    """Thickness of each layer on the columns, (n,) mm; they add up to the room where it is veneered.

    coats_mm : one array per coat, from the core outward
    """

    coats_mm: tuple[Floats, ...]
    opaque_dentine_mm: Floats
    dentine_mm: Floats
    enamel_mm: Floats
    transparent_mm: Floats

    @property
    def outward_mm(self) -> tuple[Floats, ...]:
        """All layers from the core outward: coats, opaque dentine, dentine, enamel, transparent."""
        return (*self.coats_mm, self.opaque_dentine_mm, self.dentine_mm, self.enamel_mm, self.transparent_mm)


def wishes_of(choice: Choice, site: Site, rules: CutBack) -> Wishes:
    """Where the optional layers go: common practice of the trade, no published source.

    Coats cover the whole core. Opaque dentine lies in the cervical and middle thirds, and wherever the room
    is less than 0.3 mm above what the limits need. Transparent lies in the incisal third, on front teeth only
    between the lobes and at the corners, on back teeth toward the cusps.
    """
    if rules.by_zone:
        return _prescribed(choice, site, rules)
    ones, zeros = np.ones_like(site.room_mm), np.zeros_like(site.room_mm)
    opaque_dentine, transparent = zeros, zeros
    if choice.opaque_dentine is not None:
        zone = 1.0 - smooth_step((site.height_share - 0.5) / 0.25)
        short = 1.0 - smooth_step((site.room_mm - rules.least_room_mm) / _SHORT_BY_MM)
        opaque_dentine = layer_mm(choice.opaque_dentine) * np.maximum(zone, short)
    if choice.transparent is not None:
        third = smooth_step((site.height_share - 0.6) / 0.15)
        if rules.tip_mm > 0:
            third = third * _between_lobes(site, rules)
        else:
            third = third * (1.0 - site.table + site.table * site.relief)
        transparent = layer_mm(choice.transparent) * third
    return Wishes(tuple(layer_mm(p) * ones for p in choice.coats), opaque_dentine, transparent)


def _prescribed(choice: Choice, site: Site, rules: CutBack) -> Wishes:
    """What the rules prescribe by zone; a role they do not name keeps its usual thickness everywhere."""

    def wish(powder: Powder | None) -> Floats:
        if powder is None:
            return np.zeros_like(site.room_mm)
        zones = rules.zones_of(powder.role)
        usual = layer_mm(powder) if zones is None else 0.0
        return by_height(site, (usual, usual, usual) if zones is None else zones)

    coats = tuple(wish(powder) for powder in choice.coats)
    return Wishes(coats, wish(choice.opaque_dentine), wish(choice.transparent), _PRESCRIBED_SHARE)


def _between_lobes(site: Site, rules: CutBack) -> Floats:
    weight = smooth_step((np.abs(site.across) - 0.7) / 0.2)
    for groove in rules.grooves:
        weight = weight + np.exp(-0.5 * ((site.across - groove) / (1.5 * rules.groove_reach)) ** 2)
    return np.minimum(weight, 1.0)


def enamel_on_columns(field: CutBackField, rules: CutBack, *, contour: Surface, room: Room) -> Floats:
    """(n,) what lies outside the cut-back on the straight way from each contour vertex to the core, mm.

    The first place from the contour inward where the cut-back field is 0, linear between 17 samples.
    """
    enamel = np.zeros(len(room.thickness_mm))
    filled = np.flatnonzero(room.veneered & (room.thickness_mm > 0))
    share = np.linspace(0.0, 1.0, _SAMPLES)
    start, way = contour.vertices_mm[filled], room.foot_mm[filled] - contour.vertices_mm[filled]
    points = start[:, None] + share[None, :, None] * way[:, None]
    values = field.levels_mm(rules)
    level = field.between(points.reshape(-1, 3), values).reshape(len(filled), _SAMPLES)
    enamel[filled] = _first_zero(level, share) * room.thickness_mm[filled]
    return enamel


def _first_zero(level: Floats, share: Floats) -> Floats:
    """(c,) share of the way where each row first turns to 0 or less; 1 where it never does."""
    dentine = level <= 0
    reached = dentine.any(axis=1)
    first = np.argmax(dentine, axis=1)
    rows = np.arange(len(level))
    before = np.maximum(first - 1, 0)
    high, low = level[rows, before], level[rows, first]
    drop = high - low
    part = np.divide(high, drop, out=np.zeros_like(high), where=drop > 0)
    found = share[before] + np.clip(part, 0.0, 1.0) * (share[first] - share[before])
    return np.where(reached, found, 1.0)


def split(room_mm: Floats, enamel_mm: Floats, wishes: Wishes, *, veneered: NDArray[np.bool_]) -> Parts:
    """Share out each column: coats first, then opaque dentine, dentine, enamel, transparent.

    enamel_mm : (n,) what lies outside the cut-back
    Coats keep their thickness as long as anything is left under the enamel; opaque dentine takes at most half
    of what the coats leave; transparent takes at most its share of the enamel. All are 0 where nothing is
    veneered or the core stands out of the contour.
    """
    total = np.where(veneered, np.maximum(room_mm, 0.0), 0.0)
    outside = np.clip(enamel_mm, 0.0, total)
    left = total - outside
    coats: list[Floats] = []
    for wish in wishes.coats_mm:
        coats.append(np.minimum(wish, left))
        left = left - coats[-1]
    opaque_dentine = np.minimum(wishes.opaque_dentine_mm, _OPAQUE_DENTINE_SHARE * left)
    transparent = np.minimum(wishes.transparent_mm, wishes.transparent_share * outside)
    return Parts(tuple(coats), opaque_dentine, left - opaque_dentine, outside - transparent, transparent)
