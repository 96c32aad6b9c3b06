"""Pictures of colour: spectra with their doubt, and colour against room, as PNG bytes of the usual size."""

from __future__ import annotations

import io
from functools import cache
from typing import Any

import numpy as np

from firstbake.colour import ZoneColour, grid_nm, name_of
from firstbake.files.fonts import face_file
from firstbake.files.picture_style import INK, QUIET
from firstbake.files.picture_words import SIZE

_DPI = 100.0
# Zones differ by line and mark as well as by shade.
_LINES: dict[str, tuple[str, str, str]] = {
    "cervical": ("#7a3b10", "-", "o"),
    "body": ("#2f5d8a", "--", "s"),
    "incisal": ("#3f7f4c", "-.", "^"),
}
_AXES = (("L*", "lightness"), ("a*", "red +, green −"), ("b*", "yellow +, blue −"))
_TEXT, _SMALL = 17.0, 14.5  # points at _DPI


def spectra_picture(zones: tuple[ZoneColour, ...]) -> tuple[bytes, str] | None:
    """Reflectance of each zone with one standard deviation, and its words; None without spectra."""
    drawn = [zone for zone in zones if zone.reflectance is not None]
    if not drawn:
        return None
    figure = _figure()
    plot = figure.add_axes((0.115, 0.165, 0.85, 0.69))
    nm = grid_nm()
    ends = []
    for zone in drawn:
        colour, line, mark = _LINES.get(zone.zone, ("#444444", ":", "d"))
        seen = np.asarray(zone.reflectance)
        if zone.reflectance_sd is not None:
            plot.fill_between(
                nm, seen - zone.reflectance_sd, seen + zone.reflectance_sd, color=colour, alpha=0.18, lw=0
            )
        plot.plot(nm, seen, line, color=colour, lw=2.6, marker=mark, markevery=6, ms=7, label=zone.zone)
        ends.append(seen)
    every = np.concatenate(ends)
    plot.set_xlim(400, 700)
    plot.set_ylim(max(0.0, np.floor(10 * (every.min() - 0.06)) / 10), np.ceil(10 * (every.max() + 0.04)) / 10)
    _plain(plot)
    plot.set_xlabel("wavelength, nm", fontproperties=_font("Regular", _TEXT), color=_rgb(QUIET))
    plot.set_ylabel("share of light sent back", fontproperties=_font("Regular", _TEXT), color=_rgb(QUIET))
    plot.legend(prop=_font("Regular", _TEXT), frameon=False, loc="lower right", handlelength=2.6)
    _title(figure, "Spectra of the zones", "band: one standard deviation")
    words = "; ".join(f"{zone.zone}: {name_of(zone.lab)}" for zone in drawn)
    return _png(figure), f"spectra of the zones with their doubt: {words}"


def thickness_picture(zones: tuple[ZoneColour, ...]) -> tuple[bytes, str] | None:
    """L*, a*, b* of each zone against its room, planned room and target marked; None without curves."""
    drawn = [zone for zone in zones if zone.curve is not None]
    if not drawn:
        return None
    figure = _figure()
    for row, (axis, words) in enumerate(_AXES):
        plot = figure.add_axes((0.115, 0.635 - 0.25 * row, 0.685, 0.228))
        for zone in drawn:
            _curve(plot, zone, row)
        _plain(plot)
        plot.locator_params(axis="y", nbins=4)
        plot.set_ylabel(
            axis, fontproperties=_font("Semibold", _TEXT), color=_rgb(INK), rotation=0, labelpad=14
        )
        plot.text(
            0.985,
            0.05,
            words,
            transform=plot.transAxes,
            ha="right",
            color=_rgb(QUIET),
            fontproperties=_font("Regular", _SMALL),
        )
        if row < len(_AXES) - 1:
            plot.tick_params(labelbottom=False)
    plot.set_xlabel(
        "whole porcelain, mm", fontproperties=_font("Regular", _TEXT), color=_rgb(QUIET), labelpad=1
    )
    _title(figure, "Colour against room", "mark: planned; short line: wanted")
    _key(figure, drawn)
    note = "band: one\nstandard\ndeviation"
    figure.text(0.82, 0.56, note, va="top", color=_rgb(QUIET), fontproperties=_font("Regular", _TEXT))
    told = "; ".join(f"{z.zone} {z.curve.planned_mm:.2f} mm" for z in drawn if z.curve is not None)
    return _png(figure), f"L*, a*, b* against the room, one standard deviation as band; planned: {told}"


def _curve(plot: Any, zone: ZoneColour, row: int) -> None:
    """One zone's line, band, mark at the planned room, and a short line at the target."""
    curve = zone.curve
    if curve is None:
        return
    colour, line, mark = _LINES.get(zone.zone, ("#444444", ":", "d"))
    values, sd = curve.lab[:, row], curve.sd[:, row]
    plot.fill_between(curve.room_mm, values - sd, values + sd, color=colour, alpha=0.15, lw=0)
    plot.plot(curve.room_mm, values, line, color=colour, lw=2.2)
    at = curve.planned_mm
    plot.axvline(at, color=colour, lw=1.0, ls=line, alpha=0.7)
    plot.plot([at], [zone.lab[row]], mark, color=colour, ms=10, mec="white", mew=1.4, zorder=5)
    if zone.target is not None:
        reach = 0.035 * (plot.get_xlim()[1] - plot.get_xlim()[0])
        plot.plot([at - reach, at + reach], [zone.target[row]] * 2, color=_rgb(INK), lw=3.2, zorder=4)


def _key(figure: Any, zones: list[ZoneColour]) -> None:
    """The zones beside the plots, each with its line and mark."""
    from matplotlib.lines import Line2D

    handles = [
        Line2D([], [], color=colour, ls=line, marker=mark, ms=9, lw=2.2, mec="white", label=zone.zone)
        for zone in zones
        for colour, line, mark in (_LINES.get(zone.zone, ("#444444", ":", "d")),)
    ]
    figure.legend(
        handles=handles,
        prop=_font("Regular", _TEXT),
        frameon=False,
        loc="upper left",
        bbox_to_anchor=(0.805, 0.88),
        handlelength=2.0,
        borderaxespad=0.2,
        handletextpad=0.4,
    )


def _figure() -> Any:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(SIZE[0] / _DPI, SIZE[1] / _DPI), dpi=_DPI, facecolor="white")
    FigureCanvasAgg(figure)
    return figure


def _plain(plot: Any) -> None:
    """Quiet axes: no box above and at the right, thin grid."""
    for side in ("top", "right"):
        plot.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        plot.spines[side].set_color(_rgb(QUIET))
    plot.grid(True, color="#e4dfd6", lw=0.8)
    plot.set_axisbelow(True)
    plot.tick_params(colors=_rgb(QUIET), length=4)
    for label in (*plot.get_xticklabels(), *plot.get_yticklabels()):
        label.set_fontproperties(_font("Regular", _SMALL))


def _title(figure: Any, title: str, note: str) -> None:
    figure.text(0.02, 0.975, title, va="top", color=_rgb(INK), fontproperties=_font("Bold", 24.0))
    figure.text(
        0.98, 0.965, note, va="top", ha="right", color=_rgb(QUIET), fontproperties=_font("Regular", _TEXT)
    )


def _rgb(tone: tuple[int, int, int]) -> tuple[float, float, float]:
    return tone[0] / 255, tone[1] / 255, tone[2] / 255


@cache
def _font(face: str, size: float) -> Any:
    from matplotlib.font_manager import FontProperties

    return FontProperties(fname=face_file(face), size=size)


def _png(figure: Any) -> bytes:
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=_DPI, metadata={"Software": None})
    return out.getvalue()
