"""Rows of points round a crown, from the margin up to the line where both faces meet."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]


def smooth_step(t: Floats) -> Floats:
    """Quintic step 6t⁵ - 15t⁴ + 10t³, 0 for t <= 0 and 1 for t >= 1."""
    s = np.clip(t, 0.0, 1.0)
    return np.asarray(s**3 * (s * (6 * s - 15) + 10))


@dataclass(frozen=True, eq=False)
class Columns:
    """Where the columns stand round the tooth: mesial, over labial, to distal, and back over palatal.

    share    : (2n,) -1 distal to +1 mesial, x over the half width of the row
    labial   : (2n,) True on the labial half (the two side columns count as labial)
    """

    share: Floats
    labial: NDArray[np.bool_]

    @property
    def half(self) -> int:
        """n, the number of the distal side column."""
        return len(self.share) // 2


def spaced_columns(half: int) -> Columns:
    """2·half columns, evenly spaced round a superellipse of exponent 2.5."""
    t = np.linspace(0.0, np.pi, 40 * half + 1)
    power = 2 / 2.5
    x = np.sign(np.cos(t)) * np.abs(np.cos(t)) ** power
    y = np.abs(np.sin(t)) ** power
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    share = np.interp(np.linspace(0.0, arc[-1], half + 1), arc, x)
    share = (share - share[::-1]) / 2
    return Columns(np.concatenate([share, share[-2:0:-1]]), np.arange(2 * half) <= half)


def zipped_surface(points_mm: Floats, *, handed: int) -> Surface:
    """Triangles over rows of points, open at row 0; the last row is folded onto itself to a line.

    points_mm : (rows, 2n, 3), mm; in the last row column k must lie on column 2n - k
    handed    : +1 when the coordinates are right-handed, -1 when mirrored
    """
    rows, around, _ = points_mm.shape
    half = around // 2
    number = np.arange(rows * around, dtype=np.int32).reshape(rows, around)
    last = (rows - 1) * around
    number[-1] = last + np.minimum(np.arange(around), around - np.arange(around))
    vertices = np.concatenate([points_mm[:-1].reshape(-1, 3), points_mm[-1, : half + 1]])
    right = np.roll(number, -1, axis=1)
    corners = (number[:-1], right[:-1], right[1:], number[1:])
    faces = _triangles(corners, first_half=np.arange(around) % half < half // 2)
    return Surface(vertices, faces if handed > 0 else faces[:, ::-1])


def _triangles(corners: tuple[Ints, Ints, Ints, Ints], *, first_half: NDArray[np.bool_]) -> Ints:
    """(2q, 3) two triangles for each quad, cut so that no cut ends on a side column.

    corners    : four arrays (rows, columns) of vertex numbers, anticlockwise
    first_half : (columns,) which of the two cuts is taken
    """
    quads = np.stack(corners, axis=-1)
    one, other = quads[:, first_half].reshape(-1, 4), quads[:, ~first_half].reshape(-1, 4)
    parts = [one[:, [0, 1, 3]], one[:, [1, 2, 3]], other[:, [0, 1, 2]], other[:, [0, 2, 3]]]
    return np.asarray(np.concatenate(parts))
