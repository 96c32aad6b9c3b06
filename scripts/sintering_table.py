"""Every rule fired by the model on one crown, and the table of it in Markdown."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from rules_of_thumb import (
    END_DENSITY,
    GREEN_DENSITY,
    Build,
    built,
    fired_nodes,
    thickness_scaled,
    whole_scaled,
)
from scipy.optimize import minimize_scalar
from sintering_cases import Crown, Misfit, misfit

from firstbake.errors import FirstbakeError
from firstbake.fem import (
    Overbuilt,
    carrier_of,
    coarser_build,
    film_thickness_ratio,
    fire,
    mesh_veneer,
    overbuilt_in_sweeps,
    with_error_estimate,
)
from firstbake.green.sintered import STEP_MM, TOLERANCE_MM
from firstbake.mesh import Floats, Surface

WHOLE, THICKNESS = (1.15, 1.178, 1.20), (1.178, 1.30, 1.40, 1.633)
SHIFT = 0.02  # of green density


@dataclass(frozen=True, eq=False)
class Row:
    """One rule: its misfit after firing and fired contour, or the remark why it could not be fired.

    turned : elements that the rule had turned over inside
    """

    rule: str
    misfit: Misfit | None
    fired: Surface | None = None
    turned: int = 0
    remark: str = ""


@dataclass(frozen=True, eq=False)
class Results:
    """All rules on one crown, the overbuild itself, and what other packing does to it.

    quick, best : the quick answer and the last sweep      looser, denser : fired misfits at other densities
    """

    crown: Crown
    rows: tuple[Row, ...]
    quick: Overbuilt
    best: Overbuilt
    looser: Misfit
    denser: Misfit

    def row(self, start: str) -> Row:
        """The row whose rule begins with these words."""
        return next(row for row in self.rows if row.rule.startswith(start))


def results_of(crown: Crown, say: Callable[[str], None]) -> Results:
    """Fire every rule on one crown. say : told what is being done."""
    say(f"{crown.name}: {len(crown.mesh.nodes_mm)} nodes, rules of thumb")
    rules = _rules_of_thumb(crown)
    say(f"{crown.name}: overbuild")
    better = overbuilt_in_sweeps(
        crown.mesh, green_density=GREEN_DENSITY, end_density=END_DENSITY, tolerance_mm=TOLERANCE_MM
    )
    sweeps = list(better)
    coarse = coarser_build(crown.mesh, density_of=lambda mesh: GREEN_DENSITY, end_density=END_DENSITY)
    quick, best = sweeps[0], with_error_estimate(sweeps[-1], coarse)
    ours = [
        _fired(crown, "the quick answer (one step back)", lambda: Build(quick.green_nodes_mm, 0)),
        _fired(crown, "the overbuild", lambda: Build(best.green_nodes_mm, 0)),
        _on_new_mesh(crown, best),
    ]
    looser, denser = (
        misfit(crown, crown.shape_of(fired_nodes(crown.mesh, best.green_nodes_mm, green_density=d)))
        for d in (GREEN_DENSITY - SHIFT, GREEN_DENSITY + SHIFT)
    )
    return Results(crown, (*rules, *ours), quick, best, looser, denser)


def _rules_of_thumb(crown: Crown) -> list[Row]:
    rows = [_fired(crown, "the wanted contour itself", lambda: Build(crown.mesh.nodes_mm, 0))]
    for factor in WHOLE:
        rows.append(_fired(crown, f"whole contour × {factor_words(factor)}", partial(_whole, crown, factor)))
    rows.append(_best(crown, "whole contour ×", _whole, (1.0, 1.2)))
    for factor in THICKNESS:
        rows.append(_fired(crown, f"thickness × {factor_words(factor)}", partial(_thick, crown, factor)))
    rows.append(_best(crown, "thickness ×", _thick, (1.15, 1.65)))
    return rows


def _whole(crown: Crown, factor: float) -> Build:
    centre = crown.frame.origin_mm
    return built(crown.mesh, whole_scaled(crown.place, factor=factor, centre_mm=centre))


def _thick(crown: Crown, factor: float) -> Build:
    return built(crown.mesh, thickness_scaled(crown.place, factor=factor))


def _fired(crown: Crown, rule: str, build: Callable[[], Build]) -> Row:
    try:
        green = build()
        shape = crown.shape_of(fired_nodes(crown.mesh, green.nodes_mm))
    except FirstbakeError as error:
        return Row(rule, None, remark=f"could not be fired: {error}")
    return Row(rule, misfit(crown, shape), shape, green.turned)


def _best(
    crown: Crown, rule: str, build: Callable[[Crown, float], Build], between: tuple[float, float]
) -> Row:
    """The factor with the least RMS misfit, searched to 0.005."""

    def rms(factor: float) -> float:
        row = _fired(crown, rule, lambda: build(crown, factor))
        return 10.0 if row.misfit is None else row.misfit.rms_mm

    found = minimize_scalar(rms, bounds=between, method="bounded", options={"xatol": 0.005})
    factor = round(float(found.x), 2)
    return _fired(crown, f"{rule} {factor:.2f} (best by search)", lambda: build(crown, factor))


def _on_new_mesh(crown: Crown, best: Overbuilt) -> Row:
    """The overbuilt contour as a ceramist would bring it: meshed anew, knowing nothing of the first mesh."""
    rule = "the overbuild, on a new mesh"
    places = best.green_of(crown.contour.vertices_mm, carrier=crown.carrier)
    green = crown.contour.moved(places)
    try:
        mesh = mesh_veneer(green, crown.core, step_mm=STEP_MM)
        done = fire(mesh, green_density=GREEN_DENSITY, end_density=END_DENSITY)
    except FirstbakeError as error:
        return Row(rule, None, remark=f"could not be fired: {error}")
    shrink = film_thickness_ratio(GREEN_DENSITY, END_DENSITY) - 1
    moves = carrier_of(mesh, places).displaced(done.displacement_mm, film_growth=shrink)
    shape = green.moved(places + moves)
    return Row(rule, misfit(crown, shape), shape)


def growth_of(results: Results) -> tuple[float, float, float]:
    """How much the overbuild adds to the thickness, medians at edge and sides, unit 1, and the part of the
    overbuild that goes sideways, mm, 99th percentile."""
    crown = results.crown
    points = crown.contour.vertices_mm
    added = results.best.green_of(points, carrier=crown.carrier) - points
    height = np.linalg.norm(points - crown.foot_mm, axis=1)
    up = (points - crown.foot_mm) / np.maximum(height, 1e-9)[:, None]
    along = np.einsum("ij,ij->i", added, up)
    sideways = np.linalg.norm(added - along[:, None] * up, axis=1)
    share: Floats = along / np.maximum(height, 1e-9)
    return (
        float(np.median(share[crown.edge])),
        float(np.median(share[crown.sides])),
        float(np.percentile(sideways[crown.counted], 99)),
    )


def markdown(results: Results) -> str:
    """One crown's table and the figures under it."""
    edge = crown_edge(results.crown)
    lines = [
        f"### {results.crown.name[:1].upper()}{results.crown.name[1:]}",
        "",
        f"| build | 99 % within, mm | RMS, mm | mean at the {edge}, mm | mean at the sides, mm |",
        "|---|---|---|---|---|",
    ]
    for row in results.rows:
        if row.misfit is None:
            lines.append(f"| {row.rule} | {row.remark} | | | |")
            continue
        m = row.misfit
        lines.append(
            f"| {row.rule} | {size(m.most_mm)} | {size(m.rms_mm)} | {size(m.edge_mm, signed=True)} "
            f"| {size(m.sides_mm, signed=True)} |"
        )
    lines += ["", *_under_the_table(results, edge)]
    return "\n".join(lines)


def crown_edge(crown: Crown) -> str:
    """ "incisal edge" or "occlusal surface"."""
    return "incisal edge" if crown.frame.tooth.is_front else "occlusal surface"


def _under_the_table(results: Results, edge: str) -> list[str]:
    best, crown = results.best, results.crown
    at_edge, at_sides, sideways = growth_of(results)
    turned = max(row.turned for row in results.rows)
    return [
        f"- The overbuild adds {at_edge:.0%} of the local thickness at the {edge} and {at_sides:.0%} at the "
        f"sides (medians); up to {size(sideways)} mm of it goes sideways.",
        f"- Residual {best.residual_um:.0f} µm after {best.sweeps} sweeps, error estimate "
        f"{best.error_estimate_um:.0f} µm, {len(crown.mesh.nodes_mm)} nodes, step {STEP_MM:g} mm.",
        f"- The same build packed to {GREEN_DENSITY - SHIFT:.2f} instead of {GREEN_DENSITY:.2f}: "
        f"{_packed(results.looser, edge)}. Packed to {GREEN_DENSITY + SHIFT:.2f}: "
        f"{_packed(results.denser, edge)}.",
        f"- A rule turned over at most {turned} of {len(crown.mesh.tets)} elements inside; they were evened "
        "out and the surface left as the rule makes it.",
    ]


def _packed(m: Misfit, edge: str) -> str:
    return (
        f"{size(m.edge_mm, signed=True)} mm at the {edge}, {size(m.sides_mm, signed=True)} mm at the sides, "
        f"99 % within {size(m.most_mm)} mm"
    )


def factor_words(factor: float) -> str:
    """ "1.20", "1.178"."""
    return f"{factor:.2f}" if abs(round(factor, 2) - factor) < 1e-9 else f"{factor:.3f}"


def size(value_mm: float, *, signed: bool = False) -> str:
    """A length in mm: two decimals from 0.1 mm on, three below."""
    if abs(value_mm) < 0.0005:
        return "0.000"
    digits = 2 if abs(value_mm) >= 0.0995 else 3
    return f"{value_mm:{'+' if signed else ''}.{digits}f}".replace("-", "−")
