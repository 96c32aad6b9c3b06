"""The crown in a picture: shaded colours, contour lines, hatched patches; no words yet."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from firstbake.files.picture_style import INK, SHEET, MapStyle, coded, linear
from firstbake.mesh import Surface
from firstbake.sheet import View, raster_of

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

FINE = 2  # pixels rendered per pixel shown, each way
_LIGHT = np.array([-0.35, 0.55, 0.76])  # from the upper left, toward the crown
_DIM = 0.62  # share of the light that reaches a face turned away


@dataclass(frozen=True, eq=False)
class Crown:
    """A rendered crown, FINE pixels for each one shown.

    corner : column and row of its upper left corner in the picture, shown pixels
    light : (h, w, 3) linear light       inside : (h, w) where the crown is
    field : (h, w) the field
    lines : (h, w) contour number of a line through the pixel, or NO_LINE
    hatched : (h, w) where the patch is
    """

    corner: tuple[int, int]
    light: Floats
    inside: Mask
    field: Floats
    lines: NDArray[np.int64]
    hatched: Mask


NO_LINE = -(10**6)


def render(
    surface: Surface,
    view: View,
    field: Floats,
    *,
    style: MapStyle,
    place: Floats,
    box: tuple[int, int, int, int],
    patch: Mask,
) -> Crown:
    """Draw a field on a surface.

    field : (n,) of the vertices         patch : (n,) bool, vertices to hatch
    place : (3,) column and row of the view's (0, 0) in the picture, and pixels per mm, shown pixels
    box   : left, top, right, bottom of what is rendered, shown pixels
    """
    fine = ((box[3] - box[1]) * FINE, (box[2] - box[0]) * FINE)
    seen = view.seen(surface.vertices_mm)
    points = (place[:2] - np.array(box[:2]) + seen[:, :2] * [1, -1] * place[2]) * FINE
    toward = surface.face_crosses_mm2 @ view.axes[2]
    front = surface.faces[toward > 0]
    raster = raster_of(points, seen[:, 2], front, shape=fine)
    inside = raster.face >= 0
    columns = np.column_stack([field, surface.vertex_normals @ view.axes.T, patch])
    blended = raster.blend(front, columns)
    values = blended[..., 0]
    light = np.ones((*fine, 3)) * linear(np.array(SHEET) / 255.0)
    light[inside] = style.paint(values[inside]) * _shade(blended[inside, 1:4])[:, None]
    lines = _contours(values, inside, style)
    ink = linear(np.array(INK) / 255.0)
    _blend(light, _wider(lines > NO_LINE, FINE) & inside, ink, share=0.6)
    hatched = (blended[..., 4] > 0.5) & inside
    _hatch(light, hatched, ink)
    _blend(light, _wider(inside, 2 * FINE) & ~inside, ink, share=1.0)
    return Crown((box[0], box[1]), light, inside, values, lines, hatched)


def _wider(where: Mask, pixels: int) -> Mask:
    """The mask grown by so many pixels each way (a square brush)."""
    return np.asarray(ndimage.maximum_filter(where, size=2 * pixels + 1))


def _shade(normals: Floats) -> Floats:
    """Share of the colour that is seen: a soft lamp from the upper left."""
    length = np.maximum(np.linalg.norm(normals, axis=1), 1e-12)
    lit = np.clip(normals @ (_LIGHT / np.linalg.norm(_LIGHT)) / length, 0, 1)
    return np.asarray(_DIM + (1 - _DIM) * lit)


def _contours(values: Floats, inside: Mask, style: MapStyle) -> NDArray[np.int64]:
    """The contour number at pixels where the field passes a multiple of the step, FINE pixels wide."""
    band = np.floor(values / style.step + 1e-6).astype(np.int64)
    lines = np.full(values.shape, NO_LINE, dtype=np.int64)
    for axis in (0, 1):
        here = [slice(None), slice(None)]
        there = [slice(None), slice(None)]
        here[axis], there[axis] = slice(None, -1), slice(1, None)
        a, b = (tuple(here), tuple(there))
        differ = (band[a] != band[b]) & inside[a] & inside[b]
        number = np.maximum(band[a], band[b])
        for at in (a, b):
            part = lines[at]
            part[differ] = np.maximum(part[differ], number[differ])
    return lines


def _hatch(light: Floats, where: Mask, ink: Floats) -> None:
    """Diagonal ink lines over a patch and a firm line round it."""
    row, column = np.indices(where.shape)
    stripes = (row + column) % (9 * FINE) < FINE + 1
    rim = _wider(where, 2 * FINE) & ~where
    _blend(light, where & stripes, ink, share=0.9)
    _blend(light, rim, ink, share=1.0)


def _blend(light: Floats, where: Mask, colour: Floats, *, share: float) -> None:
    light[where] = (1 - share) * light[where] + share * colour


def shown(light: Floats) -> NDArray[np.uint8]:
    """(h, w, 3) bytes: averaged down from FINE in linear light, then coded."""
    rows, columns = light.shape[0] // FINE, light.shape[1] // FINE
    mean = light.reshape(rows, FINE, columns, FINE, 3).mean(axis=(1, 3))
    return np.asarray(np.round(coded(mean) * 255), dtype=np.uint8)
