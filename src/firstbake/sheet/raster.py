"""Raster: which triangle is seen at each pixel."""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]

Wide = NDArray[np.int64]

_PIXELS = 1_000_000  # pixels tried at a time; bounds memory to about 150 MB
_EDGE_PX = 1e-6  # so that shared edges leave no pinholes


@dataclass(frozen=True, eq=False)
class Raster:
    """What is seen at each pixel, row 0 at the top.

    face  : (h, w) number of the nearest face, -1 where there is none
    share : (h, w, 3) barycentric weights of that face's corners (0 where there is none)
    """

    face: Ints
    share: Floats

    def blend(self, faces: Ints, values: Floats) -> Floats:
        """(h, w, ...) values (n, ...) of the vertices at each pixel; 0 where there is no face."""
        hit = self.face >= 0
        corners = faces[self.face[hit]]
        share = self.share[hit]
        inside = sum(
            values[corners[:, k]] * (share[:, k] if values.ndim == 1 else share[:, k, None]) for k in range(3)
        )
        out = np.zeros((*self.face.shape, *values.shape[1:]))
        out[hit] = inside
        return out


def raster_of(points_px: Floats, depth: Floats, faces: Ints, *, shape: tuple[int, int]) -> Raster:
    """Draw triangles into pixels, nearest wins (z-buffer).

    points_px : (n, 2) column and row of each vertex; pixel centres lie at whole numbers
    depth     : (n,) greater is nearer to the eye
    shape     : rows, columns
    """
    which, row, first, last = _spans(points_px[faces], shape)
    near = np.full(shape[0] * shape[1], -np.inf)
    face = np.full(shape[0] * shape[1], -1, dtype=np.int32)
    shares = np.zeros((shape[0] * shape[1], 3))
    bounds = np.searchsorted(np.cumsum(last - first), np.arange(0, (last - first).sum(), _PIXELS))
    for start, stop in itertools.pairwise([*bounds.tolist(), len(which)]):
        part = slice(start, stop)
        length = last[part] - first[part]
        column = np.repeat(last[part] - np.cumsum(length), length) + np.arange(length.sum())
        some = np.repeat(which[part], length)
        y = np.repeat(row[part], length)
        share = _weights(points_px, faces, some=some, at=(column, y))
        pixel = y * shape[1] + column
        at = np.einsum("ij,ij->i", share, depth[faces[some]])
        np.maximum.at(near, pixel, at)
        won = at >= near[pixel]
        face[pixel[won]] = some[won]
        shares[pixel[won]] = share[won]
    return Raster(face.reshape(shape), shares.reshape(*shape, 3))


def covered(points_px: Floats, faces: Ints, *, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """(rows, columns) True where any triangle covers the pixel's centre; quicker than a raster."""
    _, row, first, last = _spans(points_px[faces], shape)
    change = np.zeros((shape[0], shape[1] + 1), dtype=np.int64)
    np.add.at(change, (row, first), 1)
    np.add.at(change, (row, last), -1)
    return np.cumsum(change, axis=1)[:, :-1] > 0


def _spans(corner: Floats, shape: tuple[int, int]) -> tuple[Wide, Wide, Wide, Wide]:
    """Runs of pixels inside triangles (m, 3, 2): triangle, row, first column, column after the last."""
    y = corner[:, :, 1]
    low = np.clip(np.ceil(y.min(axis=1)), 0, shape[0]).astype(np.int64)
    high = np.clip(np.floor(y.max(axis=1)) + 1, 0, shape[0]).astype(np.int64)
    count = np.maximum(high - low, 0)
    which = np.repeat(np.arange(len(corner)), count)
    row = np.repeat(high - np.cumsum(count), count) + np.arange(count.sum())
    left, right = np.full(len(which), np.inf), np.full(len(which), -np.inf)
    for k in range(3):
        p, q = corner[which, k], corner[which, (k + 1) % 3]
        rise = q[:, 1] - p[:, 1]
        crossed = (np.minimum(p[:, 1], q[:, 1]) <= row) & (row <= np.maximum(p[:, 1], q[:, 1])) & (rise != 0)
        x = p[:, 0] + (row - p[:, 1]) * (q[:, 0] - p[:, 0]) / np.where(rise == 0, 1.0, rise)
        left = np.where(crossed, np.minimum(left, x), left)
        right = np.where(crossed, np.maximum(right, x), right)
    first = np.clip(np.ceil(np.where(np.isfinite(left), left, 0) - _EDGE_PX), 0, shape[1]).astype(np.int64)
    last = np.clip(np.floor(np.where(np.isfinite(right), right, -1) + _EDGE_PX) + 1, 0, shape[1])
    last = last.astype(np.int64)
    full = last > first
    return which[full], row[full], first[full], last[full]


def _weights(points: Floats, faces: Ints, *, some: Wide, at: tuple[Wide, Wide]) -> Floats:
    """(k, 3) barycentric weights of pixels (column, row) in the triangles `some`."""
    a, b, c = (points[faces[:, k]] for k in range(3))
    ab, ac = b - a, c - a
    twice = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    scale = np.divide(1.0, twice, out=np.zeros_like(twice), where=np.abs(twice) > 1e-12)
    x, y = at[0] - a[some, 0], at[1] - a[some, 1]
    wb = x * (ac[:, 1] * scale)[some] - y * (ac[:, 0] * scale)[some]
    wc = y * (ab[:, 0] * scale)[some] - x * (ab[:, 1] * scale)[some]
    share = np.clip(np.stack([1 - wb - wc, wb, wc], axis=1), 0, 1)
    return np.asarray(share / share.sum(axis=1, keepdims=True))
