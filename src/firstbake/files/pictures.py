"""Still pictures: maps on the crown in standard views, as PNG bytes."""

from __future__ import annotations

import io
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstbake.colour import PREVIEW_WORDS
from firstbake.errors import BadSum
from firstbake.files.picture_colour import spectra_picture, thickness_picture
from firstbake.files.picture_crown import render, shown
from firstbake.files.picture_preview import preview_picture
from firstbake.files.picture_style import (
    CUT_BACK,
    ENAMEL,
    MASKING,
    OVERBUILD,
    PULL,
    RISK,
    ROOM,
    SHEET,
    MapStyle,
)
from firstbake.files.picture_words import SIZE, crown_box, write_words
from firstbake.mesh import Surface, nearest, sub_surface
from firstbake.sheet import View, above_margin, view_of
from firstbake.teeth import Frame

if TYPE_CHECKING:
    from firstbake.crown import Plan

Floats = NDArray[np.float64]

_SPREAD_MM = 0.5  # reach over which the risk map is averaged (chosen here)
_FACING = 0.2  # share of a normal toward the eye from which a spot counts as seen (chosen here)


@dataclass(frozen=True)
class Picture:
    """One still: a name for its file, what it shows in words, PNG bytes, and whether the sheet shows it."""

    name: str
    words: str
    png: bytes
    on_sheet: bool = False


@dataclass(frozen=True, eq=False)
class _Map:
    """One map to draw: a field on a surface from one view; patch to hatch and the number to print on it."""

    what: str
    style: MapStyle
    surface: Surface
    field: Floats
    view: str
    on_sheet: bool = False
    patch: NDArray[np.bool_] | None = None
    mark: tuple[str, Floats] | None = None


def plan_pictures(plan: Plan) -> tuple[Picture, ...]:
    """The stills of a plan: room, overbuild, enamel and the green cut-back, nothing below the margin; the
    colour of the crown, where the stump shows, spectra and colour against room.

    The risk of tearing while it fires is relative: where on this crown porcelain is held hardest, no chance.
    The sheet shows the room from where its worst place is seen best, the overbuild from the lip, and the
    green cut-back from the lip (a one-powder plan: the room from the lip).
    """

    def drawn(m: _Map) -> Picture:
        return Picture(
            f"{m.what}-{_file_word(plan.frame, m.view)}",
            f"{m.style.title}, {view_of(plan.frame, m.view).words}: {_span(m.field)}",
            crown_picture(
                m.surface, plan.frame, m.field, style=m.style, view=m.view, patch=m.patch, mark=m.mark
            ),
            m.on_sheet,
        )

    maps = (*_room_maps(plan), *_green_maps(plan), *_stump_maps(plan), *_pull_maps(plan))
    with ThreadPoolExecutor(max_workers=2) as two:  # the sums let go of the interpreter most of the time
        return (*two.map(drawn, maps), *_colour_pictures(plan))


def _veneer(plan: Plan, *fields: NDArray[Any]) -> tuple[Surface, list[NDArray[Any]]]:
    """The veneered part of the wanted contour and its fields; all of it where porcelain covers all."""
    contour, veneered = plan.case.contour.surface, plan.room.veneered
    faces = np.asarray(veneered[contour.faces].all(axis=1))
    if faces.all() or not faces.any():
        return contour, list(fields)
    part, numbers = sub_surface(contour, faces)
    return part, [field[numbers] for field in fields]


def _room_maps(plan: Plan) -> list[_Map]:
    thin = np.zeros(len(plan.room.veneered), dtype=np.bool_)
    for region in plan.room.thin:
        thin[region.vertices] = True
    thick = np.where(plan.room.veneered, plan.room.thickness_mm, 0.0)
    part, (field, patch) = _veneer(plan, thick, thin)
    best = _best_view(plan)
    cut = plan.green.dentine_cut is not None
    shown = {best} if cut else {best, "labial"}
    mark = None
    if plan.room.thin:
        worst = min(plan.room.thin, key=lambda region: region.worst_mm)
        mark = (f"{worst.worst_mm:.2f}", worst.at_mm)
    views = dict.fromkeys(("labial", best, "inner", "incisal"))
    return [_Map("room", ROOM, part, field, view, view in shown, patch, mark) for view in views]


def _green_maps(plan: Plan) -> list[_Map]:
    part, (over, enamel) = _veneer(plan, plan.green.overbuild_mm, plan.layers.enamel_mm)
    maps = [
        _Map("overbuild", OVERBUILD, part, over, view, view == "labial") for view in ("labial", "incisal")
    ]
    if plan.green.tension is not None:
        rows = np.flatnonzero(np.isfinite(plan.green.tension))
        near = _within(plan.case.contour.surface.vertices_mm, rows, plan.green.tension)
        part, (risk,) = _veneer(plan, near)
        maps += [_Map("tearing-risk", RISK, part, risk, view) for view in ("labial", "inner")]
    cut, full = plan.green.dentine_cut, plan.green.dentine_full
    if plan.layers.cut_back is not None:
        maps.append(_Map("enamel", ENAMEL, part, enamel, "labial"))
    if cut is not None:
        lobes = above_margin(plan, cut)
        depth = nearest(plan.green.contour if full is None else full, lobes.vertices_mm).distance_mm
        maps.append(_Map("cut-back", CUT_BACK, lobes, depth, "labial", True))
    return maps


def _within(points_mm: Floats, rows: NDArray[np.intp], field: Floats) -> Floats:
    """(n,) means of the field over its known rows within 0.5 mm: single nodes of the mesh speckle."""
    near = cKDTree(points_mm[rows]).query_ball_point(points_mm, _SPREAD_MM)
    return np.array([np.clip(field[rows[k]], 0.0, None).mean() if k else 0.0 for k in near])


def _stump_maps(plan: Plan) -> list[_Map]:
    if plan.colour_map is None:
        return []
    part, (field,) = _veneer(plan, np.nan_to_num(plan.colour_map.masking_delta_e00))
    return [_Map("masking", MASKING, part, field, "labial")]


def _pull_maps(plan: Plan) -> list[_Map]:
    """Greatest pull in the porcelain under each place, cold; pressed places show as none."""
    if plan.cooling is None:
        return []
    part, (field,) = _veneer(plan, np.clip(np.nan_to_num(plan.cooling.inside_MPa), 0.0, None))
    return [_Map("cooling-pull", PULL, part, field, view) for view in ("labial", "inner")]


def _colour_pictures(plan: Plan) -> list[Picture]:
    """The crown in its predicted colours, spectra, and colour against room."""
    found = []
    if plan.colour_map is not None:
        part, (srgb,) = _veneer(plan, np.nan_to_num(plan.colour_map.srgb, nan=1.0))
        look = view_of(plan.frame, "labial")
        seen = look.seen(part.vertices_mm)[:, :2]
        place = _placed(seen.min(axis=0), seen.max(axis=0))
        png = preview_picture(part, look, srgb, place=place, zones=plan.colour)
        told = "; ".join(f"{zone.zone} zone {zone.words}" for zone in plan.colour)
        words = f"predicted colour, {look.words}: {PREVIEW_WORDS}; {told}"
        found.append(Picture(f"colour-{_file_word(plan.frame, 'labial')}", words, png))
    for name, chart in (("spectra", spectra_picture), ("thickness-colour", thickness_picture)):
        drawn = chart(plan.colour)
        if drawn is not None:
            found.append(Picture(name, drawn[1], drawn[0]))
    return found


def crown_picture(
    surface: Surface,
    frame: Frame,
    field: Floats,
    *,
    style: MapStyle,
    view: str,
    patch: NDArray[np.bool_] | None = None,
    mark: tuple[str, Floats] | None = None,
) -> bytes:
    """One map on the crown as PNG bytes, the same every time.

    field  : (n,) one value a vertex, in the unit of the style
    view   : one of sheet.VIEWS          patch : (n,) bool, vertices to hatch, or None
    mark   : a number to print at a point (3,) of the surface, where that side is seen
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
    spots = [] if mark is None else _seen_marks(surface, look, mark, place)
    write_words(image, crown, look, style=style, px_per_mm=float(place[2]), marks=spots)
    out = io.BytesIO()
    image.save(out, format="PNG", optimize=False, compress_level=6)
    return out.getvalue()


def _seen_marks(
    surface: Surface, look: View, mark: tuple[str, Floats], place: Floats
) -> list[tuple[str, Floats]]:
    """The mark at its column and row in the picture, when its side faces the eye."""
    text, at_mm = mark
    vertex = int(np.argmin(np.linalg.norm(surface.vertices_mm - at_mm, axis=1)))
    if float(surface.vertex_normals[vertex] @ look.axes[2]) < _FACING:
        return []
    x, y, _ = look.seen(at_mm[None])[0]
    return [(text, np.array([place[0] + x * place[2], place[1] - y * place[2]]))]


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


def _span(field: Floats) -> str:
    """Least, middle and most of a field."""
    return f"{field.min():.2f} to {field.max():.2f}, median {np.median(field):.2f}"
