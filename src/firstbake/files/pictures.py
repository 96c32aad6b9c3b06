"""Still pictures: maps on the crown in standard views, as PNG bytes."""

from __future__ import annotations

import io
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadSum
from firstbake.files.picture_crown import render, shown
from firstbake.files.picture_style import ENAMEL, OVERBUILD, ROOM, SHEET, MapStyle
from firstbake.files.picture_words import SIZE, crown_box, write_words
from firstbake.mesh import Surface, sub_surface
from firstbake.sheet import view_of
from firstbake.teeth import Frame

if TYPE_CHECKING:
    from firstbake.crown import Plan

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Picture:
    """One still: a name for its file, what it shows in words, PNG bytes, and whether the sheet shows it."""

    name: str
    words: str
    png: bytes
    on_sheet: bool = False


def plan_pictures(plan: Plan) -> tuple[Picture, ...]:
    """The stills of a plan: room, overbuild and enamel on the crown.

    The sheet shows the room from the lip and from where its worst place is seen best, and the overbuild.
    """
    whole, frame = plan.case.contour.surface, plan.frame
    room, veneered = plan.room, plan.room.veneered
    contour, kept = _reached(whole, veneered)
    thin = np.zeros(len(whole.vertices_mm), dtype=np.bool_)
    for region in room.thin:
        thin[region.vertices] = True
    second = _best_view(plan)
    thick = np.where(veneered, room.thickness_mm, 0.0)
    rooms = dict.fromkeys(("labial", second, "inner", "incisal"))
    wanted = [("room", ROOM, thick, view) for view in rooms]
    wanted += [("overbuild", OVERBUILD, plan.green.overbuild_mm, view) for view in ("labial", "incisal")]
    if plan.layers.cut_back is not None:
        wanted.append(("enamel", ENAMEL, plan.layers.enamel_mm, "labial"))
    sheet = {("room", "labial"), ("room", second), ("overbuild", "labial")}

    def drawn(row: tuple[str, MapStyle, Floats, str]) -> Picture:
        what, style, field, view = row
        return Picture(
            f"{what}-{_file_word(frame, view)}",
            f"{style.title}, {view_of(frame, view).words}: {_span(field, veneered)}",
            crown_picture(
                contour,
                frame,
                field[kept],
                style=style,
                view=view,
                patch=thin[kept] if what == "room" else None,
            ),
            (what, view) in sheet,
        )

    with ThreadPoolExecutor(max_workers=2) as two:  # the sums let go of the interpreter most of the time
        return tuple(two.map(drawn, wanted))


def _reached(surface: Surface, veneered: NDArray[np.bool_]) -> tuple[Surface, NDArray[np.int32]]:
    """The faces of the contour that porcelain reaches, and the old number of each vertex."""
    faces = np.asarray(veneered[surface.faces].any(axis=1))
    if faces.all():
        return surface, np.arange(len(surface.vertices_mm), dtype=np.int32)
    part, numbers = sub_surface(surface, faces)
    return part, np.asarray(numbers, dtype=np.int32)


def crown_picture(
    surface: Surface,
    frame: Frame,
    field: Floats,
    *,
    style: MapStyle,
    view: str,
    patch: NDArray[np.bool_] | None = None,
) -> bytes:
    """One map on the crown as PNG bytes, the same every time.

    field  : (n,) one value a vertex, in the unit of the style
    view   : one of sheet.VIEWS          patch : (n,) bool, vertices to hatch, or None
    raises : BadSum when the field does not fit the surface or is not finite, BadCase on an unknown view
    """
    from PIL import Image

    if field.shape != (len(surface.vertices_mm),) or not np.isfinite(field).all():
        raise BadSum(f"a picture of {style.title} needs one finite value for each vertex of the crown")
    look = view_of(frame, view)
    seen = look.seen(surface.vertices_mm)[:, :2]
    place = _placed(seen.min(axis=0), seen.max(axis=0))
    hatched = np.zeros(len(field), dtype=np.bool_) if patch is None else patch
    left, top, right, bottom = crown_box()
    box = (left - 8, top - 8, right + 8, bottom + 8)
    crown = render(surface, look, field, style=style, place=place, box=box, patch=hatched)
    image = Image.new("RGB", SIZE, SHEET)
    image.paste(Image.fromarray(shown(crown.light)), box[:2])
    write_words(image, crown, look, style=style, px_per_mm=float(place[2]))
    out = io.BytesIO()
    image.save(out, format="PNG", optimize=False, compress_level=6)
    return out.getvalue()


def _placed(low: Floats, high: Floats) -> Floats:
    """Column and row of the view's (0, 0) and pixels per mm, so that the crown fills its box."""
    left, top, right, bottom = crown_box()
    scale = min((right - left) / (high[0] - low[0]), (bottom - top) / (high[1] - low[1]))
    middle = (low + high) / 2
    return np.array([(left + right) / 2 - middle[0] * scale, (top + bottom) / 2 + middle[1] * scale, scale])


def _best_view(plan: Plan) -> str:
    """From where the worst place of the room is seen best, besides the lip; the inner side without one."""
    if not plan.room.thin:
        return "inner"
    worst = min(plan.room.thin, key=lambda region: region.worst_mm)
    surface = plan.case.contour.surface
    nearest = int(np.argmin(np.linalg.norm(surface.vertices_mm - worst.at_mm, axis=1)))
    normal = surface.vertex_normals[nearest]
    views = ("inner", "mesial", "distal", "incisal")
    return max(views, key=lambda name: float(view_of(plan.frame, name).axes[2] @ normal))


def _file_word(frame: Frame, view: str) -> str:
    return view_of(frame, view).words.split()[0]


def _span(field: Floats, veneered: NDArray[np.bool_]) -> str:
    """Least, middle and most of a field where there is porcelain."""
    here = field[veneered] if veneered.any() else field
    return f"{here.min():.2f} to {here.max():.2f}, median {np.median(here):.2f}"
