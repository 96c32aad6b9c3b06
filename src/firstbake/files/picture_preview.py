"""The crown in its predicted colours, without shading, and chips of wanted and predicted colour beside it."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import ZoneColour, srgb_from_lab
from firstbake.files.picture_crown import FINE, shown
from firstbake.files.picture_style import INK, QUIET, SHEET, linear
from firstbake.files.picture_words import SIZE, crown_box, picture_font, write_frame
from firstbake.mesh import Surface
from firstbake.sheet import View, raster_of

Floats = NDArray[np.float64]

TITLE = "colour, no shading"
_SMALL = 31  # px, words at the chips
_CHIP = (650, 112, 86, 76)  # left and top of the first, width, height
_ROW = 140


def preview_picture(
    surface: Surface, look: View, srgb: Floats, *, place: Floats, zones: tuple[ZoneColour, ...]
) -> bytes:
    """The crown in flat colours as PNG bytes.

    srgb  : (n, 3) of the vertices, 0 to 1, finite
    place : (3,) column and row of the view's (0, 0) in the picture, and pixels per mm
    zones : chips at the right, the incisal one on top as on the tooth
    """
    from PIL import Image, ImageDraw

    left, top, right, bottom = crown_box()
    corner = (left - 8, top - 8)
    light, inside = _flat(surface, look, srgb, place=place, box=(*corner, right + 8, bottom + 8))
    image = Image.new("RGB", SIZE, SHEET)
    image.paste(Image.fromarray(shown(light)), corner)
    write_frame(image, look, title=TITLE, crown=(inside, corner), px_per_mm=float(place[2]))
    draw = ImageDraw.Draw(image)
    for row, zone in enumerate(reversed(zones)):
        _chip(draw, zone, row)
    out = io.BytesIO()
    image.save(out, format="PNG", optimize=False, compress_level=6)
    return out.getvalue()


def _flat(
    surface: Surface, look: View, srgb: Floats, *, place: Floats, box: tuple[int, int, int, int]
) -> tuple[Floats, NDArray[np.bool_]]:
    """(h, w, 3) linear light and (h, w) where the crown is, FINE pixels for each one shown."""
    fine = ((box[3] - box[1]) * FINE, (box[2] - box[0]) * FINE)
    seen = look.seen(surface.vertices_mm)
    points = (place[:2] - np.array(box[:2]) + seen[:, :2] * [1, -1] * place[2]) * FINE
    front = surface.faces[surface.face_crosses_mm2 @ look.axes[2] > 0]
    raster = raster_of(points, seen[:, 2], front, shape=fine)
    inside = raster.face >= 0
    light = np.ones((*fine, 3)) * linear(np.array(SHEET) / 255.0)
    light[inside] = np.clip(raster.blend(front, linear(srgb))[inside], 0.0, 1.0)
    return light, inside


def _chip(draw: Any, zone: ZoneColour, row: int) -> None:
    """Wanted and predicted side by side, the difference and its doubt under them."""
    left, top, width, height = _CHIP
    top += row * _ROW
    predicted = _bytes(zone.srgb)
    wanted = None if zone.target is None else _bytes(tuple(srgb_from_lab(np.array(zone.target)).tolist()))
    draw.rectangle([left, top, left + width, top + height], fill=wanted or SHEET)
    draw.rectangle([left + width, top, left + 2 * width, top + height], fill=predicted)
    draw.rectangle([left, top, left + 2 * width, top + height], outline=INK, width=2)
    small = picture_font("Regular", _SMALL)
    middle = left + width
    word = (
        zone.zone
        if wanted is None
        else f"{zone.zone} {zone.delta_e00:.1f} ± {zone.difference_doubt_delta_e00:.1f}"
    )
    draw.text((middle, top + height + 4), word, font=small, fill=INK, anchor="ma")
    if row == 0:
        draw.text((left - 2, top - 4), "wanted", font=small, fill=QUIET, anchor="ls")
        draw.text((left + 2 * width + 8, top - 4), "plan", font=small, fill=QUIET, anchor="rs")


def _bytes(srgb: tuple[float, ...]) -> tuple[int, ...]:
    return tuple(round(255 * float(np.clip(value, 0.0, 1.0))) for value in srgb)
