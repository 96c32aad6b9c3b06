"""The calliper table: lengths a ceramist can measure, green and fired."""

from dataclasses import dataclass

import numpy as np

from firstbake.case import Case
from firstbake.green.allowance import contact_places, extra_of
from firstbake.green.gauge import Gauge, X, Y, Z
from firstbake.green.green import Calliper, Green
from firstbake.green.growth import closing_factor
from firstbake.green.spots import BELOW_EDGE_MM, Spots, across_word, third_names
from firstbake.layering import Layers
from firstbake.mesh import Floats, Surface
from firstbake.powder import Powder
from firstbake.teeth import Frame

_USUAL_DOUBT = 0.02  # one sd of the green relative density by hand, unit 1; judgement, no published source


@dataclass(frozen=True, eq=False)
class _Build:
    """One state of the crown: contour, dentine before the cut-back and after it, in tooth coordinates."""

    contour: Gauge
    full: Gauge | None
    cut: Gauge | None


def measure_callipers(case: Case, frame: Frame, *, layers: Layers, green: Green) -> tuple[Calliper, ...]:
    """Lengths across the whole crown (core included), overbuilds and cut-back depths.

    fired_mm is what comes out of the furnace, with the allowances on it; finished_mm is the wanted contour.
    An overbuild is measured from the wanted contour: fired it is the allowance there, finished 0. A cut-back
    depth is measured on the green dentine built to full contour; fired, from the wanted contour. Lengths of
    one name are taken at one height above the margin.
    A length that a shape does not have (no neighbour, no cut-back, no such cusp) is left out.

    doubt_mm is one standard deviation: half the difference between the lengths of builds packed one standard
    deviation looser and denser (a quarter of the range on the powder's card, else 0.02), their growth scaled
    to the same mass, together with case.size_doubt_mm for lengths across the crown.
    """
    wanted = _build(case.contour.surface, case.contour.surface, layers.cut_back, frame)
    spots = Spots.of(frame, wanted.contour)
    finished, places = _lengths(spots, wanted), _contact_vertices(case, frame)
    fired = _fired_lengths(case, frame, layers, spots=spots, contacts=places)
    loose, plain, dense = (
        _green_lengths(case, frame, layers, green=green, spots=spots, growth=growth, contacts=places)
        for growth in (_growth(case, layers, green, -1.0), 1.0, _growth(case, layers, green, 1.0))
    )
    found = []
    for name, length in plain.items():
        over = "overbuild" in name
        if np.isnan(length) or not (over or np.isfinite(finished.get(name, np.nan))):
            continue
        doubt = abs(loose[name] - dense[name]) / 2
        if not over and "cut-back" not in name:
            doubt = float(np.hypot(doubt, case.size_doubt_mm))
        last = 0.0 if over else finished[name]
        found.append(Calliper(name, fired.get(name, last), length, float(doubt), last))
    return tuple(found)


def _fired_lengths(
    case: Case, frame: Frame, layers: Layers, *, spots: Spots, contacts: dict[str, int]
) -> dict[str, float]:
    """Lengths out of the furnace by name: the wanted contour with the fired allowances on it."""
    wanted = case.contour.surface
    added = extra_of(case, layers).field_mm
    shape = wanted.moved(wanted.vertices_mm + added[:, None] * wanted.vertex_normals)
    build = _build(shape, wanted, layers.cut_back, frame)
    return {**_lengths(spots, build), **_overbuilds(wanted, shape, frame, contacts)}


def _build(contour: Surface, full: Surface | None, cut: Surface | None, frame: Frame) -> _Build:
    return _Build(
        Gauge.on(contour, frame),
        None if full is None else Gauge.on(full, frame),
        None if cut is None else Gauge.on(cut, frame),
    )


def density_doubt(powder: Powder) -> float:
    """One standard deviation of the green relative density: a quarter of its stated range, else 0.02."""
    figure = powder.green_relative_density
    if figure.low is None or figure.high is None or figure.high <= figure.low:
        return _USUAL_DOUBT
    return (figure.high - figure.low) / 4


def _growth(case: Case, layers: Layers, green: Green, deviations: float) -> float:
    """Factor on all growth that conserves mass when every powder is packed `deviations` sd denser."""
    cards = {la.powder.name: la.powder for la in layers.layers}
    packed = -sum(layer.volume_mm3 for layer in layers.layers)
    for name, volume in green.powder_volume_mm3.items():
        value = cards[name].green_relative_density.value
        packed += volume * value / (value + deviations * density_doubt(cards[name]))
    wanted = case.contour.surface
    return closing_factor(wanted, green.contour.vertices_mm - wanted.vertices_mm, packed)


def _green_lengths(
    case: Case,
    frame: Frame,
    layers: Layers,
    *,
    green: Green,
    spots: Spots,
    growth: float,
    contacts: dict[str, int],
) -> dict[str, float]:
    """Green lengths by name, the growth of every vertex scaled by `growth`."""
    wanted = case.contour.surface
    contour = _scaled(wanted, green.contour, growth)
    full = None if green.dentine_full is None else _scaled(wanted, green.dentine_full, growth)
    cut = None
    if layers.cut_back is not None and green.dentine_cut is not None:
        cut = _scaled(layers.cut_back, green.dentine_cut, growth)
    build = _build(contour, full, cut, frame)
    return {**_lengths(spots, build), **_overbuilds(wanted, contour, frame, contacts)}


def _overbuilds(wanted: Surface, shape: Surface, frame: Frame, contacts: dict[str, int]) -> dict[str, float]:
    """How far a shape stands out over the wanted contour at the edge and at each contact, by name, mm."""
    lengths = {}
    if frame.tooth.is_front:
        edge, before = (Gauge.on(s, frame).points_mm[:, Z].max() for s in (shape, wanted))
        lengths["incisal edge overbuild"] = float(edge - before)
    for side, vertex in contacts.items():
        way = shape.vertices_mm[vertex] - wanted.vertices_mm[vertex]
        lengths[f"{side} contact overbuild"] = float(np.linalg.norm(way))
    return lengths


def _scaled(before: Surface, after: Surface, growth: float) -> Surface:
    return before.moved(before.vertices_mm + growth * (after.vertices_mm - before.vertices_mm))


def _contact_vertices(case: Case, frame: Frame) -> dict[str, int]:
    """Vertex of the contour at each contact, by side."""
    contour, found = case.contour.surface, {}
    for place in contact_places(case):
        if place is not None:
            side = "mesial" if frame.to_local(place[None])[0, X] > 0 else "distal"
            found[side] = int(np.argmin(np.linalg.norm(contour.vertices_mm - place, axis=1)))
    return found


def _lengths(spots: Spots, build: _Build) -> dict[str, float]:
    """Lengths of one build by name, mm; NaN where the shape has no such length."""
    lengths = _heights(spots, build.contour)
    for name, z in zip(third_names(spots.tooth), spots.wide_z, strict=True):
        lengths[f"mesiodistal, {name}"] = build.contour.span(X, plane=Z, at_mm=z)
    for name, z in zip(third_names(spots.tooth), spots.deep_z, strict=True):
        lengths[f"{across_word(spots.tooth)}, {name}"] = build.contour.span(Y, plane=Z, at_mm=z)
    if spots.tooth.is_front:
        _, edge = build.contour.ends(Z, plane=X, at_mm=spots.middle_x)
        hits = build.contour.hits(Y, at_mm=(spots.middle_x, edge - BELOW_EDGE_MM))
        thick = float(hits[-1] - hits[0]) if len(hits) > 1 else float("nan")
        lengths[f"incisal edge thickness, {BELOW_EDGE_MM:g} mm below the edge"] = thick
    if build.full is not None and build.cut is not None:
        lengths.update(_cuts(spots, build.full, build.cut))
    return lengths


def _heights(spots: Spots, contour: Gauge) -> dict[str, float]:
    margin = spots.outer_margin_z
    if spots.tooth.is_front:
        top = float(contour.points_mm[:, Z].max())
        return {f"length, {spots.tooth.outer_word} margin to incisal edge": top - margin}
    heights = {}
    for name, where in spots.cusps(contour.points_mm).items():
        tip = contour.top(where)
        heights[f"height of the {name} over the buccal margin"] = _z(tip) - margin
    heights["height of the central fossa over the buccal margin"] = spots.fossa_z(contour) - margin
    return heights


def _cuts(spots: Spots, full: Gauge, cut: Gauge) -> dict[str, float]:
    """Cut-back depths by name: at right angles to the outer face, and along the tooth at tips and cusps."""
    depths = {}
    outer = spots.tooth.outer_word
    for name, z in zip(third_names(spots.tooth)[1:], spots.deep_z[1:], strict=True):
        hits = full.hits(Y, at_mm=(spots.middle_x, z))
        place = np.array([spots.middle_x, hits[-1], z]) if len(hits) else None
        depths[f"cut-back, {outer} {name}"] = float("nan") if place is None else full.depth_to(cut, place)
    if not spots.tooth.is_front:
        tops = spots.cusps(full.points_mm)
        for name, where in spots.cusps(cut.points_mm).items():
            depths[f"cut-back, {name} tip"] = _z(full.top(tops[name])) - _z(cut.top(where))
        return depths
    for name, where in spots.lobes(cut.points_mm).items():
        tip = cut.top(where)
        edge = np.nan if tip is None else full.ends(Z, plane=X, at_mm=float(tip[X]))[1]
        depths[f"cut-back, {name} to edge"] = float(edge - _z(tip))
    return depths


def _z(point_mm: Floats | None) -> float:
    return float("nan") if point_mm is None else float(point_mm[Z])
