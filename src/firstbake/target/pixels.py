"""Places on a card found again in a photograph, and the colour of an area without glare."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadInput

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

CLIPPED = 0.98  # of full scale: a camera's highest values are no longer in proportion (chosen here)
_GLARE_SIGMAS = 4.0  # brighter than the median by this many robust standard deviations is glare (chosen here)
_LEAST_NOISE = 0.01  # of the median: pixels of an even area differ at least this much
_FAR_CORNER = 0.08  # of a mark's side: corners further from their place mean another card or a bent one


def homography(card_mm: Floats, image_px: Floats) -> Floats:
    """(3, 3) projective map from card mm to image pixels by least squares.

    card_mm, image_px : (k, 2) matching points, k at least 4
    method : direct linear transform on centred and scaled points (Hartley 1997; from memory, unverified)
    raises : BadInput when the corners do not lie as the card says
    """
    a, to_a = _normalised(card_mm)
    b, to_b = _normalised(image_px)
    ones, zeros = np.ones((len(a), 1)), np.zeros((len(a), 3))
    h = np.hstack([a, ones])
    rows = np.vstack([np.hstack([h, zeros, -b[:, :1] * h]), np.hstack([zeros, h, -b[:, 1:] * h])])
    plain = np.linalg.svd(rows)[2][-1].reshape(3, 3)
    found = np.linalg.solve(to_b, plain @ to_a)
    off = np.linalg.norm(on_image(found, card_mm) - image_px, axis=1)
    side = float(np.median(np.linalg.norm(image_px[1::4] - image_px[0::4], axis=1)))
    if not off.max() <= _FAR_CORNER * side:
        raise BadInput(
            f"the corner marks lie up to {off.max() / side:.0%} of a mark's side from where the card file "
            "puts them; it is another card, or the card is bent"
        )
    return np.asarray(found / found[2, 2])


def _normalised(points: Floats) -> tuple[Floats, Floats]:
    centre = points.mean(axis=0)
    spread = max(float(np.sqrt(np.mean(np.sum((points - centre) ** 2, axis=1)))), 1e-12)
    move = np.array([[1.0, 0.0, -centre[0]], [0.0, 1.0, -centre[1]], [0.0, 0.0, spread]]) / spread
    return (points - centre) / spread, move


def on_image(transform: Floats, points_mm: Floats) -> Floats:
    """(k, 2) image pixels of (k, 2) places on the card in mm."""
    moved = np.hstack([points_mm, np.ones((len(points_mm), 1))]) @ transform.T
    return np.asarray(moved[:, :2] / moved[:, 2:])


def inside(polygon_px: Floats, shape: tuple[int, int]) -> tuple[slice, slice, Bools]:
    """Rows, columns and (r, c) mask of the pixels whose middle lies within a polygon; even-odd rule."""
    low = np.clip(np.floor(polygon_px.min(axis=0)).astype(int), 0, (shape[1], shape[0]))
    high = np.clip(np.ceil(polygon_px.max(axis=0)).astype(int) + 1, 0, (shape[1], shape[0]))
    x, y = np.meshgrid(np.arange(low[0], high[0]), np.arange(low[1], high[1]))
    mask = np.zeros(x.shape, dtype=bool)
    for (x0, y0), (x1, y1) in zip(polygon_px, np.roll(polygon_px, -1, axis=0), strict=True):
        between = (y0 > y) != (y1 > y)
        if y0 != y1:
            mask ^= between & (x < (x1 - x0) * (y - y0) / (y1 - y0) + x0)
    return slice(low[1], high[1]), slice(low[0], high[0]), mask


@dataclass(frozen=True, eq=False)
class Area:
    """An area of a photograph. rgb : (k, 3) pixels kept       shares of all its pixels left out, unit 1."""

    rgb: Floats
    clipped_share: float
    glare_share: float

    @property
    def median(self) -> Floats:
        """(3,) median of the pixels kept, channel by channel, finer than the steps of an 8-bit picture."""
        return np.array([_fine_median(channel) for channel in self.rgb.T])


def _fine_median(values: Floats) -> float:
    """Median of stepped values: within the step that holds it, placed by how many lie below.

    The median of grouped data, each group reaching half-way to the next level; for values without ties it is
    the plain median to within the gap between neighbours.
    """
    levels, counts = np.unique(values, return_counts=True)
    shares = np.cumsum(counts) / len(values)
    k = int(np.searchsorted(shares, 0.5))
    below = float(shares[k - 1]) if k > 0 else 0.0
    low = 0.5 * (levels[k] + levels[max(k - 1, 0)])
    high = 0.5 * (levels[k] + levels[min(k + 1, len(levels) - 1)])
    return float(low + (high - low) * (0.5 - below) / (shares[k] - below))


def area_of(linear: NDArray[np.floating], polygon_px: Floats, *, clipped: Bools, what: str) -> Area:
    """The pixels of a polygon without the clipped and the glaring.

    linear  : (h, w, 3) linear light, full scale 1        clipped : (h, w) pixels at the camera's limit
    raises  : BadInput when the polygon leaves the photograph or holds fewer than 16 pixels
    """
    height, width = clipped.shape
    if polygon_px.min() < -0.5 or (polygon_px.max(axis=0) > (width - 0.5, height - 0.5)).any():
        raise BadInput(f"{what} reaches out of the photograph ({width} x {height} pixels)")
    rows, columns, mask = inside(polygon_px, (height, width))
    pixels = np.asarray(linear[rows, columns][mask], dtype=np.float64)
    if len(pixels) < 16:
        raise BadInput(f"{what} covers {len(pixels)} pixels; go nearer or take a larger photograph")
    whole = ~clipped[rows, columns][mask]
    light = pixels.mean(axis=1)
    base = light[whole] if whole.any() else light
    middle = float(np.median(base))
    noise = max(1.4826 * float(np.median(np.abs(base - middle))), _LEAST_NOISE * middle)
    glare = whole & (light > middle + _GLARE_SIGMAS * noise)
    count = len(pixels)
    return Area(pixels[whole & ~glare], 1.0 - whole.sum() / count, float(glare.sum()) / count)
