"""The words of a picture: title, legend, numbers on contour lines, signs, scale bar, sides."""

import io
from collections.abc import Sequence
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from firstbake.files.fonts import face_bytes
from firstbake.files.picture_crown import FINE, NO_LINE, Crown
from firstbake.files.picture_style import INK, QUIET, SHEET, MapStyle, coded
from firstbake.sheet import View

Floats = NDArray[np.float64]

SIZE = (860, 540)  # columns, rows
_LEGEND = (690, 88, 726, 508)  # left, top, right, bottom of the colour bar
TEXT, _TITLE = 52, 54  # px; 10 pt when the picture is 58.5 mm wide
_SCALE_MM = 5.0


def crown_box() -> tuple[int, int, int, int]:
    """Where the crown may stand: left, top, right, bottom."""
    return 74, 122, 618, 432


@cache
def picture_font(face: str, size: int) -> Any:
    """One face of the family at that size, px."""
    from PIL import ImageFont

    return ImageFont.truetype(io.BytesIO(face_bytes(face)), size, layout_engine=ImageFont.Layout.BASIC)


def write_words(
    image: Any,
    crown: Crown,
    view: View,
    *,
    style: MapStyle,
    px_per_mm: float,
    marks: Sequence[tuple[str, Floats]] = (),
) -> None:
    """Write everything on the rendered crown; the image is changed in place.

    marks : words to print at a column and row of the picture
    """
    from PIL import ImageDraw

    draw = ImageDraw.Draw(image)
    write_frame(image, view, title=style.title, crown=(crown.inside, crown.corner), px_per_mm=px_per_mm)
    _legend(draw, style, crown)
    taken = [at[::-1] - np.array(crown.corner[::-1]) for _, at in marks]
    for text, at in marks:
        font = picture_font("Bold", TEXT)
        draw.text(tuple(at), text, font=font, fill=INK, anchor="mm", stroke_width=6, stroke_fill=SHEET)
    taken = _numbers(draw, crown, style, taken=taken)
    if style.signed:
        _signs(draw, crown, style, taken=taken)


def write_frame(
    image: Any, view: View, *, title: str, crown: tuple[NDArray[np.bool_], tuple[int, int]], px_per_mm: float
) -> None:
    """Title, name of the view, sides at the rim and scale bar.

    crown : (h, w) where the crown is, FINE pixels for each one shown, and its upper left corner
    """
    from PIL import ImageDraw

    draw = ImageDraw.Draw(image)
    inside, corner = crown
    draw.text((16, 2), f"{title[:1].upper()}{title[1:]}", font=picture_font("Bold", _TITLE), fill=INK)
    draw.text((SIZE[0] - 16, 2), view.words, font=picture_font("Regular", _TITLE), fill=INK, anchor="ra")
    columns = np.flatnonzero(inside.any(axis=0)) // FINE + corner[0]
    _sides(image, draw, view, span=(int(columns[0]), int(columns[-1])) if len(columns) else crown_box()[::2])
    _scale_bar(draw, px_per_mm)


def _sides(image: Any, draw: Any, view: View, *, span: tuple[int, ...]) -> None:
    """The words for left, right, top and bottom at the rim; span: first and last column of the crown."""
    from PIL import Image, ImageDraw

    left, top, right, bottom = crown_box()
    font = picture_font("Regular", TEXT)
    middle = ((left + right) // 2, (top + bottom) // 2)
    draw.text((middle[0], top - 10), view.rim[2], font=font, fill=QUIET, anchor="ms")
    draw.text((middle[0], bottom + 2), view.rim[3], font=font, fill=QUIET, anchor="ma")
    for word, column in ((view.rim[0], span[0] - 70), (view.rim[1], span[1] + 8)):
        box = Image.new("RGB", (300, 64), SHEET)
        ImageDraw.Draw(box).text((150, 32), word, font=font, fill=QUIET, anchor="mm")
        image.paste(box.rotate(90, expand=True), (column, middle[1] - 150))


def _legend(draw: Any, style: MapStyle, crown: Crown) -> None:
    """The colour bar with a number at each contour step that has room, and marks where data run beyond."""
    left, top, right, bottom = _LEGEND
    values = np.linspace(style.high, style.low, bottom - top)
    colours = np.round(coded(style.paint(values)) * 255).astype(int)
    for row, colour in enumerate(colours.tolist()):
        draw.line([(left, top + row), (right, top + row)], fill=tuple(colour))
    draw.rectangle([left, top, right, bottom], outline=INK, width=2)
    count = round((style.high - style.low) / style.step)
    every = max(1, -(-count * TEXT // (bottom - top)))
    every = next(n for n in (1, 2, 4, 5, 10) if n >= every)
    for k in range(count + 1):
        at = bottom - (bottom - top) * k / count
        draw.line([(left, at), (right, at)], fill=INK, width=1)
        if k % every == 0:
            draw.text(
                (right + 10, at), _value(style, k), font=picture_font("Semibold", TEXT), fill=INK, anchor="lm"
            )
    data = crown.field[crown.inside]
    if len(data) and data.max() > style.high + 0.5 * style.step:
        draw.polygon([(left, top - 4), (right, top - 4), ((left + right) // 2, top - 22)], fill=INK)
    if len(data) and data.min() < style.low - 0.5 * style.step:
        draw.polygon([(left, bottom + 4), (right, bottom + 4), ((left + right) // 2, bottom + 22)], fill=INK)


def _value(style: MapStyle, k: int) -> str:
    value = style.low + k * style.step
    text = f"{value:+.2f}" if style.signed and abs(value) > 1e-9 else f"{value:.2f}"
    text = text.removesuffix("0") if text.endswith("0") else text
    return text.replace("-", "\u2212")


def _scale_bar(draw: Any, px_per_mm: float) -> None:
    """A bar of 5 mm with millimetre ticks, lower left."""
    left, row = 16, SIZE[1] - 14
    for k in range(round(_SCALE_MM) + 1):
        x = left + k * px_per_mm
        draw.line([(x, row - (16 if k % 5 == 0 else 9)), (x, row)], fill=INK, width=3)
    draw.line([(left, row), (left + _SCALE_MM * px_per_mm, row)], fill=INK, width=3)
    x = left + _SCALE_MM * px_per_mm + 12
    draw.text((x, row + 6), f"{_SCALE_MM:.0f} mm", font=picture_font("Regular", TEXT), fill=INK, anchor="ls")


def _numbers(draw: Any, crown: Crown, style: MapStyle, *, taken: list[Floats]) -> list[Floats]:
    """One number on each contour line, away from rim, patch and other numbers; where they stand.

    taken : rows and columns in the crown that are taken already
    """
    taken = list(taken)
    inside = crown.inside[::FINE, ::FINE] & ~crown.hatched[::FINE, ::FINE]
    lines = crown.lines[::FINE, ::FINE]
    depth = ndimage.distance_transform_edt(inside)
    every = 2 if style.signed else 1
    for number in np.unique(lines[lines > NO_LINE]).tolist():
        at = np.argwhere((lines == number) & (depth > 0.55 * TEXT))
        if len(at) < 20 or number % every:
            continue
        score = np.minimum(depth[at[:, 0], at[:, 1]], 60.0)
        for other in taken:
            score = np.minimum(score, np.abs((at - other) * [1.0, 0.42]).max(axis=1))  # wider than high
        best = at[int(np.argmax(score))].astype(np.float64)
        if score.max() < 0.95 * TEXT:
            continue
        taken.append(best)
        digits = 1 if round(style.step * 10, 6).is_integer() else 2
        text = f"{number * style.step:.{digits}f}".replace("-", "\u2212")
        where = (best[1] + crown.corner[0], best[0] + crown.corner[1])
        font = picture_font("Semibold", TEXT)
        draw.text(where, text, font=font, fill=INK, anchor="mm", stroke_width=4, stroke_fill=SHEET)
    return taken


def _signs(draw: Any, crown: Crown, style: MapStyle, *, taken: list[Floats]) -> None:
    """+ and − on a lattice wherever the field is outside the band, so that the sign needs no colour."""
    step = 46
    rows, columns = (size // FINE for size in crown.field.shape)
    lattice = [(r, c) for r in range(step // 2, rows, step) for c in range(step // 2, columns, step)]
    for row, column in lattice:
        value = crown.field[row * FINE, column * FINE]
        free = all(abs(row - t[0]) > 0.8 * TEXT or abs(column - t[1]) > 1.4 * TEXT for t in taken)
        if free and crown.inside[row * FINE, column * FINE] and abs(value) > style.band:
            sign = "+" if value > 0 else "\u2212"
            where = (column + crown.corner[0], row + crown.corner[1])
            draw.text(where, sign, font=picture_font("Bold", 34), fill=INK, anchor="mm")
