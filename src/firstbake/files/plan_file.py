"""From values to plan.json."""

from dataclasses import asdict

import numpy as np
from numpy.typing import NDArray

from firstbake import __version__
from firstbake.cooling import RIM_MM
from firstbake.crown import Plan
from firstbake.files import plan_schema as out
from firstbake.files.case_file import LoadedCase
from firstbake.files.case_target import MeshNote
from firstbake.files.cooling_out import cooling_out
from firstbake.files.recipe_file import recipe_out
from firstbake.mesh import Floats
from firstbake.room import Region, Room


def area_quantiles(values: Floats, weights: Floats, *, shares: tuple[float, ...]) -> list[float]:
    """Quantiles of values by weight. values, weights : (n,); shares in 0 to 1; NaN values are left out."""
    kept = np.isfinite(values) & (weights > 0)
    if not kept.any():
        return [float("nan")] * len(shares)
    found = np.quantile(values[kept], shares, weights=weights[kept], method="inverted_cdf")
    return [float(v) for v in found]


def _point(xyz: Floats) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in xyz)
    return (x, y, z)


def region_out(region: Region) -> out.RegionOut:
    """A region as it stands in plan.json."""
    return out.RegionOut(
        kind=region.kind,
        where=region.where,
        area_mm2=region.area_mm2,
        worst_mm=region.worst_mm,
        depth_mm=region.depth_mm,
        at_mm=_point(region.at_mm),
        choices=list(region.choices),
    )


def case_out(loaded: LoadedCase) -> out.CaseOut:
    """The head of plan.json."""
    case = loaded.case
    return out.CaseOut(
        code=case.code,
        tooth=case.tooth.number,
        tooth_words=case.tooth.words,
        core_material=case.core_material.name,
        source=case.source,
        size_doubt_mm=case.size_doubt_mm,
        demo=case.demo,
    )


def room_out(loaded: LoadedCase, room: Room) -> out.RoomOut:
    """plan.json's "room"."""
    surface = loaded.case.contour.surface
    weights = np.where(room.veneered, surface.vertex_areas_mm2, 0.0)
    least, p05, median, p95, most = area_quantiles(room.thickness_mm, weights, shares=(0, 0.05, 0.5, 0.95, 1))
    contacts = [
        out.ContactOut(
            neighbour=c.neighbour,
            side=c.side,
            gap_mm=c.gap_mm,
            area_mm2={str(k): v for k, v in c.area_mm2.items()},
            overlap_mm3=c.overlap_mm3,
            at_mm=_point(c.at_mm),
        )
        for c in room.contacts
    ]
    clearance = [
        out.ClearanceOut(opposing=c.opposing, least_mm=c.least_mm, where=c.where, at_mm=_point(c.at_mm))
        for c in room.clearance
    ]
    return out.RoomOut(
        volume_mm3=room.volume_mm3,
        thickness_mm=out.ThicknessOut(min=least, p05=p05, median=median, p95=p95, max=most),
        thin=[region_out(r) for r in room.thin],
        unsupported=[region_out(r) for r in room.unsupported],
        contacts=contacts,
        clearance_mm=room.least_clearance_mm,
        clearance=clearance,
    )


def repairs_out(notes: tuple[MeshNote, ...]) -> list[out.RepairOut]:
    """plan.json's "repairs"."""
    return [out.RepairOut(file=n.file, sentence=n.sentence) for n in notes]


def _frame_out(plan: Plan) -> out.FrameOut:
    mesial, labial, incisal = (_point(axis) for axis in plan.frame.axes)
    return out.FrameOut(
        origin_mm=_point(plan.frame.origin_mm),
        mesial=mesial,
        labial=labial,
        incisal=incisal,
        method=plan.frame.method,
        confidence=plan.frame.confidence,
    )


def _layers_out(plan: Plan) -> list[out.LayerOut]:
    weights = np.where(plan.room.veneered, plan.case.contour.surface.vertex_areas_mm2, 0.0)
    return [
        out.LayerOut(
            order=layer.order,
            powder=layer.powder.name,
            role=layer.powder.role,
            volume_mm3=layer.volume_mm3,
            median_mm=area_quantiles(
                layer.thickness_mm, np.where(layer.thickness_mm > 0, weights, 0.0), shares=(0.5,)
            )[0]
            if (layer.thickness_mm[plan.room.veneered] > 0).any()
            else 0.0,
        )
        for layer in plan.layers.layers
    ]


def _green_out(plan: Plan, *, seconds: float | None) -> out.GreenOut:
    weights = np.where(plan.room.veneered, plan.case.contour.surface.vertex_areas_mm2, 0.0)
    least, median, p95, most = area_quantiles(plan.green.overbuild_mm, weights, shares=(0, 0.5, 0.95, 1))
    return out.GreenOut(
        model=plan.green.model,
        volume_mm3=plan.green.volume_mm3,
        overbuild_mm=out.OverbuildOut(min=least, median=median, p95=p95, max=most),
        powder_volume_mm3=dict(plan.green.powder_volume_mm3),
        mass_closure=plan.green.mass_closure,
        residual_um=plan.green.residual_um,
        error_estimate_um=plan.green.error_estimate_um,
        sweeps=plan.green.sweeps,
        nodes=plan.green.nodes,
        edge_per_sd_mm=plan.green.edge_per_sd_mm,
        seconds=seconds,
    )


def _colour_out(plan: Plan) -> list[out.ColourOut]:
    return [
        out.ColourOut(
            zone=z.zone,
            lab=z.lab,
            target=z.target,
            delta_e00=z.delta_e00,
            doubt_delta_e00=z.doubt_delta_e00,
            stack_mm=list(z.stack_mm),
            words=z.words,
            weak=list(z.weak),
            illuminants=dict(z.illuminants),
            tp=z.tp,
            wi_d=z.wi_d,
            masking_delta_e00=z.masking_delta_e00,
            lab_sd=z.lab_sd,
            target_doubt_delta_e00=z.target_doubt_delta_e00,
            difference_doubt_delta_e00=None if z.target is None else z.difference_doubt_delta_e00,
            optics_doubt=dict(z.optics_doubt),
            metamerism=dict(z.metamerism) or None,
            metamerism_words=z.metamerism_words,
        )
        for z in plan.colour
    ]


def _inner(plan: Plan) -> NDArray[np.bool_]:
    """(n,) vertices with porcelain, the last 0.3 mm at the margin left out."""
    return np.asarray(plan.room.veneered & (plan.room.margin_mm > RIM_MM))


def plan_file(loaded: LoadedCase, plan: Plan, *, green_s: float | None = None) -> out.PlanFile:
    """All of plan.json, numbers as computed; the same inputs give the same bytes but for green.seconds.

    green_s : wall time of the green shape, s
    """
    case = plan.case
    limits, allowances = asdict(case.limits), asdict(case.allowances)
    sources = {**limits.pop("sources"), **allowances.pop("sources")}
    return out.PlanFile(
        version=__version__,
        case=case_out(loaded),
        frame=_frame_out(plan),
        room=room_out(loaded, plan.room),
        conflicts=[region_out(r) for r in plan.layers.conflicts],
        layers=_layers_out(plan),
        green=_green_out(plan, seconds=green_s),
        callipers=[out.CalliperOut(**asdict(c)) for c in plan.callipers],
        mix=[out.MixOut(**asdict(m)) for m in plan.mix],
        colour=_colour_out(plan),
        recipe=None if plan.recipe is None else recipe_out(plan.recipe, used=case.use_recipe),
        firing=[out.ProgrammeOut(**{**asdict(p), "cautions": list(p.cautions)}) for p in plan.firing],
        cooling=None if plan.cooling is None else cooling_out(plan.cooling, _inner(plan)),
        allowances=allowances,
        limits=limits,
        sources=sources,
        warnings=list(plan.warnings),
        repairs=repairs_out(loaded.repairs),
        inputs=loaded.inputs,
    )


def room_file(
    loaded: LoadedCase, room: Room, *, points_mm: Floats | None = None, thickness_mm: Floats | None = None
) -> out.RoomFile:
    """The result of firstbake room; points_mm : (p, 3) asked points with their thickness_mm (p,)."""
    points = None
    if points_mm is not None and thickness_mm is not None:
        points = [
            out.PointOut(x_mm=float(x), y_mm=float(y), z_mm=float(z), thickness_mm=float(t))
            for (x, y, z), t in zip(points_mm, thickness_mm, strict=True)
        ]
    return out.RoomFile(
        version=__version__,
        case=case_out(loaded),
        room=room_out(loaded, room),
        warnings=list(room.notes),
        repairs=repairs_out(loaded.repairs),
        inputs=loaded.inputs,
        points=points,
    )
