"""Rows of an incisor or canine: two faces that meet in an edge.

Local coordinates x mesial, y labial, z incisal, mm, origin at the middle of the neck. All shape
constants here were chosen by eye for this project; sizes come from Sizes.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from firstbake.teeth.rows import Columns, smooth_step
from firstbake.teeth.sizes import Sizes
from firstbake.teeth.tooth import Tooth

Floats = NDArray[np.float64]
_FREE_X = 0.88  # share of the half width used for the corner drop; keeps its slope finite


@dataclass(frozen=True)
class FrontTraits:
    """What tells the front teeth apart; lengths as shares of the labiopalatal size unless in mm.

    drop_mesial, drop_distal : how far the corners lie below the edge, share of the crown height
    corner_mesial, corner_distal : exponents of the corners, larger is squarer
    labial, palatal : lines of the two faces at _HEIGHTS, from the neck's middle
    edge_from       : height share from which the edge rounds in
    ridge           : labial and palatal midline ridge
    groove_mm       : depth of the two labial grooves
    wave_mm         : mamelon waves along the edge
    cusp            : True for a pointed edge
    """

    drop_mesial: float
    drop_distal: float
    corner_mesial: float
    corner_distal: float
    labial: tuple[float, ...]
    palatal: tuple[float, ...]
    edge_from: float
    ridge: float
    groove_mm: float
    wave_mm: float
    cusp: bool


_HEIGHTS = (0.0, 0.17, 0.35, 0.55, 0.75, 0.87, 1.0)
_UPPER_1 = FrontTraits(
    0.075, 0.17, 3.6, 2.6,
    (0.43, 0.49, 0.455, 0.37, 0.255, 0.175, 0.06),
    (-0.43, -0.51, -0.42, -0.23, -0.115, -0.095, -0.07),
    0.86, 0.0, 0.10, 0.06, False,
)  # fmt: skip
_UPPER_2 = FrontTraits(
    0.10, 0.22, 3.0, 2.3,
    (0.42, 0.48, 0.455, 0.37, 0.25, 0.17, 0.05),
    (-0.42, -0.52, -0.44, -0.24, -0.125, -0.105, -0.08),
    0.86, 0.0, 0.08, 0.05, False,
)  # fmt: skip
_UPPER_3 = FrontTraits(
    0.24, 0.31, 1.6, 1.5,
    (0.43, 0.50, 0.485, 0.42, 0.30, 0.20, 0.06),
    (-0.44, -0.50, -0.44, -0.31, -0.20, -0.15, -0.08),
    0.82, 0.035, 0.06, 0.0, True,
)  # fmt: skip
_LOWER_1 = FrontTraits(
    0.05, 0.06, 4.0, 3.6,
    (0.44, 0.48, 0.43, 0.34, 0.22, 0.15, 0.06),
    (-0.44, -0.50, -0.40, -0.25, -0.15, -0.12, -0.08),
    0.86, 0.0, 0.05, 0.05, False,
)  # fmt: skip
_LOWER_2 = FrontTraits(0.06, 0.10, 3.6, 3.0, _LOWER_1.labial, _LOWER_1.palatal, 0.86, 0.0, 0.05, 0.05, False)
_LOWER_3 = FrontTraits(
    0.14, 0.24, 1.7, 1.6,
    (0.44, 0.50, 0.475, 0.40, 0.27, 0.18, 0.06),
    (-0.45, -0.50, -0.42, -0.28, -0.18, -0.14, -0.08),
    0.82, 0.03, 0.04, 0.0, True,
)  # fmt: skip
_TRAITS = {"U1": _UPPER_1, "U2": _UPPER_2, "U3": _UPPER_3, "L1": _LOWER_1, "L2": _LOWER_2, "L3": _LOWER_3}


@dataclass(frozen=True, eq=False)
class FrontShape:
    """The closed forms of one front tooth, before it is brought to its exact size."""

    sizes: Sizes
    traits: FrontTraits
    edge_from: float

    def half_width_mm(self, height: Floats, *, mesial: bool) -> Floats:
        """Half width at a height share (0 margin, 1 edge), mm."""
        s, t = self.sizes, self.traits
        rise = s.neck_rise_mesial_mm if mesial else s.neck_rise_distal_mm
        drop = (t.drop_mesial if mesial else t.drop_distal) * s.crown_height_mm
        share = s.contact_mesial_share if mesial else s.contact_distal_share
        span = max(s.crown_height_mm - drop - rise, 1.0)
        contact = float(np.clip((share * s.crown_height_mm - rise) / span, 0.5, 0.88))
        neck = min(s.neck_mesiodistal_mm / s.mesiodistal_mm, 0.95)
        knots = (0.0, 0.45 * contact, contact, 1.0)
        values = (neck, neck + 0.62 * (1 - neck), 1.0, 0.985 if not t.cusp else 0.97)
        return np.asarray(s.mesiodistal_mm / 2 * PchipInterpolator(knots, values)(height))

    def faces_mm(self, height: Floats) -> tuple[Floats, Floats]:
        """Labial and palatal midline at a height share, before the edge rounds in, mm."""
        size = self.sizes.labiopalatal_mm
        labial = size * PchipInterpolator(_HEIGHTS, self.traits.labial)(height)
        palatal = size * PchipInterpolator(_HEIGHTS, self.traits.palatal)(height)
        return np.asarray(labial), np.asarray(palatal)

    def margin_mm(self, share: Floats) -> Floats:
        """Height of the margin at a column, mm; 0 in the middle of both faces."""
        rise = np.where(share > 0, self.sizes.neck_rise_mesial_mm, self.sizes.neck_rise_distal_mm)
        return np.asarray(rise * np.abs(share) ** 2.2)

    def edge_mm(self, share: Floats) -> Floats:
        """Height of the edge at a column, mm."""
        t, high = self.traits, self.sizes.crown_height_mm
        drop = np.where(share > 0, t.drop_mesial, t.drop_distal) * high
        power = np.where(share > 0, t.corner_mesial, t.corner_distal)
        if t.cusp:
            fall = (np.sqrt(share**2 + 0.15**2) - 0.15) / (np.sqrt(1 + 0.15**2) - 0.15)
            fall = 0.75 * fall + 0.25 * np.abs(share) ** 3
        else:
            fall = 1 - (1 - np.abs(_FREE_X * share) ** power) ** (1 / power)
            fall = fall / (1 - (1 - _FREE_X**power) ** (1 / power))
        waves = sum(np.exp(-((share - at) ** 2) / (2 * 0.08**2)) for at in (-0.3, 0.32))
        return np.asarray(high - drop * fall - t.wave_mm * waves)

    def points_mm(self, height: Floats, columns: Columns) -> Floats:
        """(rows, 2n, 3) points, mm. height : (rows, 1) or (rows, 2n) height shares."""
        u = columns.share[None, :]
        mesial = self.half_width_mm(height, mesial=True)
        distal = self.half_width_mm(height, mesial=False)
        x = np.where(u > 0, mesial, distal) * u
        labial, palatal = self.faces_mm(height)
        closing = edge_closing(height, self.edge_from)
        middle = (labial + palatal) / 2
        seam = middle + 0.05 * (labial - palatal) * (1 - smooth_step((height - 0.5) / (self.edge_from - 0.5)))
        labial, palatal = (middle + (face - middle) * closing for face in (labial, palatal))
        bow = (1 - np.abs(u) ** 2.6) ** (1 / 2.6), (1 - np.abs(u) ** 2.15) ** (1 / 2.15)
        front = seam + (labial - seam + closing * self._labial_detail_mm(u, height)) * bow[0]
        behind = seam + (palatal - seam + closing * self._palatal_detail_mm(u, height)) * bow[1]
        y = np.where(columns.labial[None, :], front, behind)
        low, top = self.margin_mm(u), self.edge_mm(u)
        z = low + height * (top - low)
        return np.stack(np.broadcast_arrays(x, y, z), axis=-1)

    def _labial_detail_mm(self, u: Floats, height: Floats) -> Floats:
        """Two shallow grooves, and the ridge of a canine, mm outward."""
        band = smooth_step((height - 0.3) / 0.3)
        grooves = sum(np.exp(-((u - at) ** 2) / (2 * 0.1**2)) for at in (-0.3, 0.32))
        ridge = self.traits.ridge * self.sizes.labiopalatal_mm * np.exp(-(u**2) / (2 * 0.22**2))
        return np.asarray(band * (ridge - self.traits.groove_mm * grooves))

    def _palatal_detail_mm(self, u: Floats, height: Floats) -> Floats:
        """The hollow between the marginal ridges, and the ridge of a canine, mm outward."""
        depth = 0.03 * self.sizes.labiopalatal_mm * (0.3 if self.traits.cusp else 1.0)
        hollow = depth * np.exp(-(u**2) / (2 * 0.35**2) - (height - 0.6) ** 2 / (2 * 0.13**2))
        ridge = self.traits.ridge * self.sizes.labiopalatal_mm * np.exp(-(u**2) / (2 * 0.2**2))
        return np.asarray(hollow - ridge * smooth_step((height - 0.3) / 0.3))


def edge_closing(height: Floats, begin: float) -> Floats:
    """Share of the thickness left where the edge rounds in: 1 below begin, 0 at 1."""
    t = np.clip((height - begin) / (1 - begin), 0.0, 1.0)
    return np.asarray(np.sqrt(np.maximum(1 - t**2.2, 0.0)))


def front_heights(rows: int, begin: float) -> Floats:
    """(rows,) height shares from 0 to 1, closer together where the edge rounds in."""
    top = max(rows // 4, 6)
    rounded = np.sin(np.linspace(0, np.pi / 2, top)) ** (2 / 2.2)
    lower = np.linspace(0.0, begin, rows - top + 1)[:-1]
    return np.concatenate([lower, begin + (1 - begin) * rounded])


def front_shape(tooth: Tooth, sizes: Sizes) -> FrontShape:
    """The shape of a front tooth of these sizes."""
    traits = _TRAITS[("U" if tooth.is_upper else "L") + tooth.number[1]]
    return FrontShape(sizes, traits, traits.edge_from)
