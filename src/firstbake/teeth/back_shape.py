"""Rows of a premolar or molar: a wall, a rim and a table with cusps.

Local coordinates x mesial, y buccal, z occlusal, mm, origin at the middle of the neck. All shape
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
Cusp = tuple[float, float, float]  # x and y over the half sizes, height over the highest cusp (unit 1)

_LOWER_MOLAR_4: tuple[Cusp, ...] = (
    (0.45, 0.55, 0.9), (-0.45, 0.55, 0.85), (0.42, -0.52, 1.0), (-0.42, -0.52, 0.92)
)  # fmt: skip
_CUSPS: dict[str, tuple[Cusp, ...]] = {
    "U4": ((0.0, 0.6, 1.0), (0.12, -0.55, 0.7)),
    "U5": ((0.0, 0.58, 1.0), (0.08, -0.56, 0.92)),
    "L4": ((0.0, 0.42, 1.0), (0.1, -0.58, 0.35)),
    "L5": ((0.0, 0.48, 1.0), (0.3, -0.55, 0.75), (-0.3, -0.55, 0.6)),
    "U6": ((0.45, 0.58, 0.92), (-0.42, 0.58, 0.85), (0.35, -0.52, 1.0), (-0.5, -0.58, 0.72)),
    "U7": ((0.45, 0.58, 0.95), (-0.42, 0.56, 0.82), (0.3, -0.52, 1.0), (-0.52, -0.56, 0.6)),
    "U8": ((0.42, 0.56, 1.0), (-0.42, 0.52, 0.8), (0.05, -0.5, 0.95)),
    "L6": (
        (0.52, 0.56, 0.92), (-0.1, 0.6, 0.88), (-0.62, 0.4, 0.75), (0.42, -0.52, 1.0), (-0.42, -0.52, 0.95)
    ),
    "L7": _LOWER_MOLAR_4,
    "L8": _LOWER_MOLAR_4,
}  # fmt: skip
_LINE = 0.4  # half length of the line on the table where both sides meet, over the half width
_POWER = 3.2  # exponent of the meridian: wall, rim, table


@dataclass(frozen=True, eq=False)
class BackShape:
    """The closed forms of one back tooth, before it is brought to its exact size.

    lean : how far the table is set toward the tongue, over the labiopalatal size
    """

    sizes: Sizes
    cusps: tuple[Cusp, ...]
    outline: float
    lean: float
    taper: float

    def margin_mm(self, share: Floats) -> Floats:
        """Height of the margin at a column, mm; 0 in the middle of both faces."""
        rise = np.where(share > 0, self.sizes.neck_rise_mesial_mm, self.sizes.neck_rise_distal_mm)
        return np.asarray(rise * np.abs(share) ** 2.2)

    def relief_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Height of cusps, ridges and grooves over the floor of the table, at least 0, mm."""
        half_x, half_y = self.sizes.mesiodistal_mm / 2, self.sizes.labiopalatal_mm / 2
        tall = self._tall_mm
        u, v = x_mm / half_x, y_mm / half_y
        cones = [
            h * tall - 0.95 * tall * (np.sqrt(((u - a) / 0.62) ** 2 + ((v - b) / 0.62) ** 2 + 0.09) - 0.3)
            for a, b, h in self.cusps
        ]
        ridges = [
            0.5 * tall - tall * (np.sqrt(((u - side * 0.78) / 0.35) ** 2 + (v / 1.1) ** 2 + 0.09) - 0.3)
            for side in (1.0, -1.0)
        ]
        sharp = 7.0 / tall
        field = np.log(sum(np.exp(sharp * np.clip(c, -2 * tall, None)) for c in (*cones, *ridges))) / sharp
        floor = 0.15 * tall
        soft = np.log1p(np.exp(sharp * (field - floor))) / sharp
        groove = 0.12 * tall * np.exp(-((v + 0.02) ** 2) / (2 * 0.07**2)) * np.exp(-(u**2) / (2 * 0.45**2))
        return np.asarray(np.maximum(soft - groove, 0.0) + 0.12 * tall)

    @property
    def _tall_mm(self) -> float:
        """Height of the highest cusp over the floor of the table, mm."""
        return 0.3 * self.sizes.crown_height_mm

    def points_mm(self, height: Floats, columns: Columns) -> Floats:
        """(rows, 2n, 3) points, mm. height : (rows, 1) meridian shares, 0 margin to 1 middle."""
        s, u = self.sizes, columns.share[None, :]
        angle = np.clip(height, 0, 1) * np.pi / 2
        inward = np.cos(angle) ** (2 / _POWER)
        inward = np.where(height >= 1, 0.0, inward)
        up = np.sin(angle) ** (2 / _POWER)
        mesial = self._half_mm(up, neck=s.neck_mesiodistal_mm / s.mesiodistal_mm, at=s.contact_mesial_share)
        distal = self._half_mm(up, neck=s.neck_mesiodistal_mm / s.mesiodistal_mm, at=s.contact_distal_share)
        x = np.where(u > 0, mesial, distal) * s.mesiodistal_mm / 2 * (_LINE + (1 - _LINE) * inward) * u
        neck = s.neck_labiopalatal_mm / s.labiopalatal_mm
        buccal = self._half_mm(up, neck=neck, at=0.3)
        lingual = self._half_mm(up, neck=neck, at=0.5)
        bow = (1 - np.abs(u) ** self.outline) ** (1 / self.outline) * (1 + self.taper * u)
        side = np.where(columns.labial[None, :], buccal, -lingual)
        y = side * s.labiopalatal_mm / 2 * inward * bow - self.lean * s.labiopalatal_mm * up**1.5
        low = self.margin_mm(u)
        top = s.crown_height_mm - 1.1 * self._tall_mm
        relief = self.relief_mm(x, y + self.lean * s.labiopalatal_mm) * smooth_step((up - 0.45) / 0.5)
        z = low + up * (top - low) + relief
        return np.stack(np.broadcast_arrays(x, y, z), axis=-1)

    def _half_mm(self, up: Floats, *, neck: float, at: float) -> Floats:
        """Half size over its greatest at a height share: neck, bulge at `at`, a little in at the rim."""
        peak = float(np.clip(at, 0.25, 0.7))
        line = PchipInterpolator((0.0, 0.5 * peak, peak, 1.0), (neck, neck + 0.7 * (1 - neck), 1.0, 0.9))
        return np.asarray(line(up))


def back_heights(rows: int) -> Floats:
    """(rows,) meridian shares from 0 to 1, spaced evenly along the meridian."""
    t = np.linspace(0.0, 1.0, 20 * rows)
    across, up = np.cos(t * np.pi / 2) ** (2 / _POWER), np.sin(t * np.pi / 2) ** (2 / _POWER)
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(across), 1.3 * np.diff(up)))])
    return np.interp(np.linspace(0.0, arc[-1], rows), arc, t)


def back_shape(tooth: Tooth, sizes: Sizes) -> BackShape:
    """The shape of a premolar or molar of these sizes."""
    name = ("U" if tooth.is_upper else "L") + tooth.number[1]
    molar = tooth.kind == "molar"
    lean = 0.0 if tooth.is_upper else 0.05
    return BackShape(sizes, _CUSPS[name], 2.7 if molar else 2.3, lean, 0.06 if molar else 0.0)
