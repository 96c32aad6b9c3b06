"""Pictures of docs/sintering.md: mid-sections, bars and maps."""

import io
from pathlib import Path

import matplotlib
import numpy as np
from PIL import Image
from scipy.spatial import cKDTree
from sintering_cases import Crown, deviations_mm
from sintering_table import Results, crown_edge, size

from firstbake.files.picture_style import RISK, MapStyle
from firstbake.files.pictures import crown_picture
from firstbake.mesh import Floats, Surface, section, sub_surface
from firstbake.sheet import view_of

matplotlib.use("Agg")
from matplotlib import pyplot  # after the choice of a backend without a screen
from matplotlib.axes import Axes
from matplotlib.figure import Figure

# Eight colours told apart by colour-deficient eyes: Okabe and Ito 2008, "Color Universal Design".
INK, QUIET, ORANGE, BLUE, SKY, CORE = "#1F1B16", "#5F574B", "#D55E00", "#0072B2", "#56B4E9", "#DDD6C8"
GROWTH = MapStyle("overbuild, mm", 0.0, 0.8, 0.2, "davos_r")
_DOTS_PER_INCH = 130


def draw_all(results: list[Results], folder: Path) -> None:
    """Write the four pictures; the first results are those of the demo crown."""
    pyplot.rcParams.update({"font.size": 11})
    folder.mkdir(parents=True, exist_ok=True)
    _kept(motion_picture(results[0]), folder / "sintering-motion.png")
    _kept(fired_picture(results[0]), folder / "sintering-fired.png")
    _kept(bars_picture(results), folder / "sintering-rules.png")
    _small(maps_picture(results[0]), folder / "sintering-maps.png")


def motion_picture(results: Results) -> Figure:
    """Mid-section: core, wanted contour, green contour, and the way of single points in the furnace."""
    crown, best = results.crown, results.best
    figure, axes = pyplot.subplots(figsize=(6.8, 7.6), layout="constrained")
    green = crown.contour.moved(best.green_of(crown.contour.vertices_mm, carrier=crown.carrier))
    lines = {name: _cut(crown, s) for name, s in (("core", crown.core), ("green", green))}
    wanted = _cut(crown, crown.contour)
    _filled(axes, lines["green"], "#F6E3C8", label=None)
    _filled(axes, lines["core"], CORE, label="core")
    axes.plot(*lines["core"].T, color=QUIET, lw=1.2)
    axes.plot(*wanted.T, color=INK, lw=1.8, label="wanted contour, after firing")
    axes.plot(*lines["green"].T, color=ORANGE, lw=1.8, ls=(0, (5, 2)), label="what to build: green contour")
    ends = _in_space(crown, _every(wanted, 0.55))
    starts = best.green_of(ends)
    looks = _flat(crown, starts), _flat(crown, ends)
    ways = looks[1] - looks[0]
    there = np.linalg.norm(ways, axis=1) > 0.08
    axes.quiver(
        *looks[0][there].T,
        *ways[there].T,
        angles="xy",
        scale_units="xy",
        scale=1,
        color=BLUE,
        width=0.0045,
        headwidth=4.5,
        headlength=5,
        headaxislength=4.5,
        zorder=5,
    )
    axes.plot([], [], color=BLUE, marker=">", markevery=[1], label="way of a point in the furnace")
    tip = int(np.argmax(np.linalg.norm(ways, axis=1)))
    _length_at(axes, looks[0][tip], f"{size(float(np.linalg.norm(ways[tip])))} mm")
    _dressed(axes, crown)
    axes.set_title("Demo crown, middle section: how far each point travels")
    figure.legend(loc="outside lower center", ncols=2, frameon=False)
    return figure


def _length_at(axes: Axes, place: Floats, words: str) -> None:
    axes.annotate(
        words,
        (place[0], place[1]),
        xytext=(34, -6),
        textcoords="offset points",
        color=BLUE,
        fontsize=12,
        fontweight="bold",
    )


def fired_picture(results: Results) -> Figure:
    """Mid-sections after firing: no compensation, the whole contour scaled, the overbuild."""
    crown = results.crown
    rows = [results.row(s) for s in ("the wanted contour", "whole contour × 1.178", "the overbuild")]
    words = ["built to the wanted contour", "whole contour × 1.178", "built as firstbake says"]
    figure, every = pyplot.subplots(1, 3, figsize=(13.2, 6.2), layout="constrained", sharey=True)
    for axes, row, title in zip(every, rows, words, strict=True):
        wanted, core = _cut(crown, crown.contour), _cut(crown, crown.core)
        _filled(axes, core, CORE, label="core")
        if row.fired is not None:
            fired = _cut(crown, row.fired)
            axes.fill(*_between(wanted, fired), color=ORANGE, alpha=0.35, lw=0)
            axes.plot(*wanted.T, color=INK, lw=1.8, label="wanted contour")
            axes.plot(*fired.T, color=ORANGE, lw=1.8, ls=(0, (5, 2)), label="fired contour")
            _offsets(axes, crown, row.fired)
        _dressed(axes, crown)
        axes.set_title(title, fontweight="bold")
    whole = np.vstack([axes.dataLim.get_points() for axes in every])
    low, high = whole.min(axis=0), whole.max(axis=0)
    for axes in every:
        axes.set_xlim(low[0] - 2.6, high[0] + 2.6)
        axes.set_ylim(low[1] - 1.0, high[1] + 0.6)
    handles, labels = every[0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside lower center", ncols=3, frameon=False)
    figure.suptitle("Demo crown, middle section, after firing. Numbers: too much (+) or too little (−), mm")
    return figure


def _between(wanted: Floats, fired: Floats) -> tuple[Floats, Floats]:
    ring = np.vstack([wanted, fired[::-1]])
    return ring[:, 0], ring[:, 1]


def _offsets(axes: Axes, crown: Crown, fired: Surface) -> None:
    """Numbers at the edge and in the middle of both faces."""
    off = deviations_mm(crown, fired)
    look = _flat(crown, crown.contour.vertices_mm)
    depth = np.abs(crown.frame.to_local(crown.contour.vertices_mm)[:, 0])
    near = np.flatnonzero((depth < 0.25) & crown.counted)
    low, high = look[near].min(axis=0), look[near].max(axis=0)
    height = (low[1] + high[1]) / 2
    level = near[np.abs(look[near, 1] - height) < 0.15]
    places = [
        (near[np.argmin(look[near, 1])], (0, -32), "center"),
        (level[np.argmin(look[level, 0])], (-18, 0), "right"),
        (level[np.argmax(look[level, 0])], (18, 0), "left"),
    ]
    for vertex, shift, side in places:
        axes.annotate(
            size(float(off[vertex]), signed=True),
            look[vertex],
            xytext=shift,
            textcoords="offset points",
            ha=side,
            va="center",
            color=INK,
            fontsize=13,
            arrowprops={"arrowstyle": "-", "color": QUIET, "lw": 0.8, "shrinkB": 0},
        )


def bars_picture(results: list[Results]) -> Figure:
    """What 99 % of the surface keeps below, rule by rule, a column for each crown."""
    figure, every = pyplot.subplots(
        1, len(results), figsize=(4.3 * len(results) + 1.4, 6.2), layout="constrained", sharey=True
    )
    for axes, result in zip(np.atleast_1d(every), results, strict=True):
        names = [_short(row.rule) for row in result.rows]
        for place, row in enumerate(result.rows):
            if row.misfit is None:
                axes.text(0.02, place, "folds over itself", va="center", color=QUIET)
                continue
            axes.barh(place, row.misfit.most_mm, color=_colour(row.rule), height=0.7)
            words = size(row.misfit.most_mm) + _factor_found(row.rule)
            axes.text(row.misfit.most_mm + 0.015, place, words, va="center", color=INK)
        axes.set_yticks(range(len(names)), names)
        axes.set_ylim(len(names) - 0.4, -0.6)
        axes.set_xlim(0, 1.25)
        axes.set_xlabel("99 % of the surface within, mm")
        axes.set_title(result.crown.name, fontweight="bold")
        axes.spines[["top", "right"]].set_visible(False)
        axes.tick_params(axis="y", length=0)
    figure.suptitle(
        "Fired in the model: how far from the wanted contour. "
        "Grey: no compensation. Orange: rules of thumb. Blue: firstbake"
    )
    return figure


def _colour(rule: str) -> str:
    if "wanted contour" in rule:
        return QUIET
    return BLUE if "one step" in rule or "overbuild" in rule else ORANGE


def _short(rule: str) -> str:
    """The rule in few words, without the factor that a search has found."""
    words = rule.split(" (")[0].replace(" itself", "")
    return f"{words.rsplit(' ', 1)[0]} best factor" if "best by search" in rule else words


def _factor_found(rule: str) -> str:
    return f" (× {rule.split(' (')[0].rsplit(' ', 1)[1]})" if "best by search" in rule else ""


def maps_picture(results: Results) -> Image.Image:
    """Overbuild and relative tearing risk on the crown, from the lip and from inside."""
    crown, best = results.crown, results.best
    points = crown.contour.vertices_mm
    added = np.linalg.norm(best.green_of(points, carrier=crown.carrier) - points, axis=1)
    tiles = [_tile(crown, added, GROWTH, view) for view in ("labial", "inner")]
    if best.fired is not None:
        weights = np.clip(crown.carrier.weights, 0, 1)
        risk = np.einsum("pa,pa->p", weights, best.fired.tension[crown.carrier.corners])
        risk = _averaged(crown, np.clip(risk, 0, 3 * RISK.high))
        tiles += [_tile(crown, risk, RISK, view) for view in ("labial", "inner")]
    wide, high = tiles[0].size
    sheet = Image.new("RGB", (2 * wide, high * ((len(tiles) + 1) // 2)), "white")
    for number, tile in enumerate(tiles):
        sheet.paste(tile, ((number % 2) * wide, (number // 2) * high))
    return sheet


def _averaged(crown: Crown, field: Floats) -> Floats:
    """(n,) means over the counted contour within half a millimetre: single nodes of the mesh speckle."""
    points = crown.contour.vertices_mm
    rows = np.flatnonzero(crown.counted)
    near = cKDTree(points[rows]).query_ball_point(points, 0.5)
    return np.array([field[rows[k]].mean() if k else 0.0 for k in near])


def _tile(crown: Crown, field: Floats, style: MapStyle, view: str) -> Image.Image:
    faces = np.asarray(crown.counted[crown.contour.faces].all(axis=1))
    part, kept = sub_surface(crown.contour, faces)
    data = crown_picture(part, crown.frame, field[kept], style=style, view=view)
    return Image.open(io.BytesIO(data)).convert("RGB")


def _cut(crown: Crown, surface: Surface) -> Floats:
    """(k, 2) longest line of the middle section, as seen from mesial, mm."""
    lines = section(surface, crown.frame.origin_mm, crown.frame.axes[0])
    line = lines[0]
    points = np.vstack([line.points_mm, line.points_mm[:1]]) if line.closed else line.points_mm
    return _flat(crown, points)


def _flat(crown: Crown, points_mm: Floats) -> Floats:
    return np.asarray(view_of(crown.frame, "mesial").seen(points_mm)[:, :2])


def _in_space(crown: Crown, flat_mm: Floats) -> Floats:
    view = view_of(crown.frame, "mesial")
    return np.asarray(view.origin_mm + flat_mm @ view.axes[:2])


def _every(line: Floats, step_mm: float) -> Floats:
    """(k, 2) places along a line at even distances, the ends left out."""
    along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    count = int(along[-1] / step_mm)
    places = np.linspace(0, along[-1], count + 1)[1:-1]
    return np.column_stack([np.interp(places, along, line[:, k]) for k in (0, 1)])


def _filled(axes: Axes, line: Floats, colour: str, *, label: str | None) -> None:
    axes.fill(*line.T, color=colour, lw=0, label=label)


def _dressed(axes: Axes, crown: Crown) -> None:
    axes.set_aspect("equal")
    axes.margins(0.3, 0.1)
    view = view_of(crown.frame, "mesial")
    axes.set_xlabel(f"{view.rim[0]}  ←  mm  →  {view.rim[1]}")
    axes.set_ylabel(f"mm from the margin's middle; {crown_edge(crown)} at the bottom")
    axes.spines[["top", "right"]].set_visible(False)
    axes.label_outer()


def _kept(figure: Figure, path: Path) -> None:
    page = io.BytesIO()
    figure.savefig(page, dpi=_DOTS_PER_INCH, facecolor="white")
    pyplot.close(figure)
    _small(Image.open(page).convert("RGB"), path)


def _small(image: Image.Image, path: Path) -> None:
    """128 colours are enough for drawings and halve the file."""
    image.quantize(128, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).save(path, optimize=True)
