"""How thick the enamel shall be at every vertex of the contour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree

from firstbake.layering.blend import lesser_of, smooth_step
from firstbake.layering.cut_back import CutBack
from firstbake.mesh import Floats, Surface, edges_of
from firstbake.room import Room
from firstbake.teeth import Frame

_PLACES = 41
_FAR_MM = 5.0
_TIP_REACH_MM = 1.5
_SOFT_MM = 0.1
_ALONG = np.linspace(0.0, 1.0, 8, endpoint=False)


@dataclass(frozen=True, eq=False)
class Site:
    """What the enamel rules need to know about the contour; n vertices, worked out once.

    across     : (n,) -1 distal to 1 mesial          height_share : (n,) 0 at the margin, 1 at the top
    outer      : (n,) 1 on the labial or buccal side, 0 on the palatal or lingual
    table      : (n,) 1 on the occlusal table of a back tooth, 0 elsewhere (all 0 on front teeth)
    relief     : (n,) 0 in the fissures, 1 on the cusp tips
    room_mm    : (n,) room, at least 0
    margin_mm  : (n,) distance to the margin, less than 0 where nothing is veneered
    end_mm     : (n,) distance to where the veneer ends, the margin or a boundary loop of the contour itself
    edge_z_mm  : (k,) height of the contour's edge at edge_across, local mm
    middle_x_mm, half_width_mm : turn local x into `across`
    edge_room_mm : room between the core's top and the edge along z, mm
    """

    across: Floats
    height_share: Floats
    outer: Floats
    table: Floats
    relief: Floats
    room_mm: Floats
    margin_mm: Floats
    end_mm: Floats
    edge_across: Floats
    edge_z_mm: Floats
    middle_x_mm: float
    half_width_mm: float
    edge_room_mm: float

    def across_of(self, local_x_mm: Floats) -> Floats:
        """Local x to -1 distal ... 1 mesial."""
        return np.asarray((local_x_mm - self.middle_x_mm) / self.half_width_mm)


def survey(contour: Surface, core: Surface, frame: Frame, room: Room) -> Site:
    """Look over the contour once. raises : nothing of its own; arrays of room follow the contour."""
    local = frame.to_local(contour.vertices_mm)
    normal = contour.vertex_normals @ frame.axes.T
    veneered = room.veneered
    low, high = float(local[veneered, 0].min()), float(local[veneered, 0].max())
    middle, half = 0.5 * (low + high), max(0.5 * (high - low), 1e-6)
    share = frame.height_share(contour.vertices_mm)
    places = np.linspace(-1.0, 1.0, _PLACES)
    edge = _edge_heights(contour, local, middle + half * places)
    table, relief = _occlusal(local, normal, share, veneered)
    if frame.tooth.is_front:
        table = np.zeros_like(table)
    far = np.minimum(room.margin_mm, _FAR_MM)
    margin = np.where(veneered, far, -np.maximum(far, 1e-3))
    top = float(frame.to_local(core.vertices_mm)[:, 2].max())
    return Site(
        across=(local[:, 0] - middle) / half,
        height_share=share,
        outer=smooth_step((normal[:, 1] + 0.1) / 0.5),
        table=table,
        relief=relief,
        room_mm=np.maximum(room.thickness_mm, 0.0),
        margin_mm=margin,
        end_mm=np.minimum(margin, _to_loops(contour)),
        edge_across=places,
        edge_z_mm=edge,
        middle_x_mm=middle,
        half_width_mm=half,
        edge_room_mm=float(edge.max()) - top,
    )


def _to_loops(contour: Surface) -> Floats:
    """(n,) distance of the vertices to the nearest boundary loop, nearly exact; inf when closed."""
    points = []
    for loop in contour.loops:
        start = contour.vertices_mm[loop]
        way = np.roll(start, -1, axis=0) - start
        points.append((start[:, None] + _ALONG[None, :, None] * way[:, None]).reshape(-1, 3))
    if not points:
        return np.full(len(contour.vertices_mm), np.inf)
    return np.asarray(cKDTree(np.vstack(points)).query(contour.vertices_mm)[0])


def _edge_heights(contour: Surface, local: Floats, cuts_mm: Floats) -> Floats:
    """Highest z of the contour in each plane x = cut, smoothed over a twentieth of the width."""
    edges = edges_of(contour.faces)
    a, b = local[edges[:, 0]], local[edges[:, 1]]
    heights = np.full(len(cuts_mm), -np.inf)
    for place, cut in enumerate(cuts_mm):
        crosses = (a[:, 0] - cut) * (b[:, 0] - cut) <= 0
        if crosses.any():
            start, end = a[crosses], b[crosses]
            run = end[:, 0] - start[:, 0]
            part = np.divide(cut - start[:, 0], run, out=np.zeros_like(run), where=np.abs(run) > 1e-12)
            heights[place] = float((start[:, 2] + part * (end[:, 2] - start[:, 2])).max())
    found = np.isfinite(heights)
    heights = np.interp(cuts_mm, cuts_mm[found], heights[found])
    return np.asarray(gaussian_filter1d(heights, 1.0, mode="nearest"))


def _occlusal(
    local: Floats, normal: Floats, share: Floats, veneered: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Weight of the occlusal table, and relief from the fissures (0) to the tip of the nearest cusps (1)."""
    table = smooth_step((normal[:, 2] - 0.2) / 0.5) * smooth_step((share - 0.4) / 0.3)
    seen = veneered & (table > 0.5)
    if int(seen.sum()) < 10:
        return table, np.ones_like(share)
    floor = float(np.percentile(local[seen, 2], 2.0))
    tips = _cusp_tips(local[seen])
    away = np.linalg.norm(local[:, None, :2] - tips[None, :, :2], axis=2)
    weight = np.exp(-0.5 * (away / _TIP_REACH_MM) ** 2) + 1e-12
    near_tip = (weight * tips[None, :, 2]).sum(axis=1) / weight.sum(axis=1)
    relief = (local[:, 2] - floor) / np.maximum(near_tip - floor, 1e-3)
    return table, smooth_step(relief)


def _cusp_tips(points: Floats) -> Floats:
    """(t, 3) points of the table that are highest among their neighbours within 1.5 mm."""
    tips: list[Floats] = []
    left = points[np.argsort(-points[:, 2])]
    ground = float(np.percentile(points[:, 2], 60.0))
    covered = np.zeros(len(left), dtype=np.bool_)
    for place in range(len(left)):
        if left[place, 2] < ground:
            break
        if covered[place]:
            continue
        away = np.linalg.norm(left[:, :2] - left[place, :2], axis=1)
        near = away < _TIP_REACH_MM
        if not (near & (left[:, 2] > left[place, 2])).any():
            tips.append(left[place])
        covered |= near
    return np.asarray(tips)


def wanted_mm(site: Site, rules: CutBack) -> Floats:
    """(n,) enamel that the rules ask for at every vertex of the contour, mm.

    By height and side, with fissures, held to room_share of the room; then lobes and grooves, held to what
    the least dentine leaves; never below the least enamel (see least_mm). Runs out over fade_mm at the margin
    and is 0 where nothing is veneered.
    """
    rule = by_height(site, (rules.cervical_mm, rules.middle_mm, rules.edge_mm))
    rule = rule * (rules.inner_share + (1.0 - rules.inner_share) * site.outer)
    occlusal = rules.fissure_mm + (rules.edge_mm - rules.fissure_mm) * site.relief
    rule = rule + (occlusal - rule) * site.table
    rule = lesser_of(rule, rules.room_share * site.room_mm, min(_SOFT_MM, rules.blend_mm))
    rule = rule + _relief_of_lobes(site, rules)
    spare = np.maximum(site.room_mm - rules.coats_mm - rules.least_dentine_mm, 0.0)
    least, _ = least_mm(site, rules)
    return np.maximum(np.minimum(rule, spare) * fade(site, rules), least)


def by_height(site: Site, zones_mm: tuple[float, float, float]) -> Floats:
    """(n,) from the cervical over the middle to the edge part, blended by height, mm."""
    cervical, middle, edge = zones_mm
    w = site.height_share
    rule = cervical + (middle - cervical) * smooth_step((w - 0.08) / 0.4)
    return np.asarray(rule + (edge - middle) * smooth_step((w - 0.45) / 0.5))


def _relief_of_lobes(site: Site, rules: CutBack) -> Floats:
    bump = np.zeros_like(site.across)
    for groove in rules.grooves:
        bump += rules.groove_mm * np.exp(-0.5 * ((site.across - groove) / rules.groove_reach) ** 2)
    for lobe in rules.lobes:
        bump -= rules.lobe_mm * np.exp(-0.5 * ((site.across - lobe) / rules.lobe_reach) ** 2)
    rise = smooth_step((site.height_share - rules.groove_from) / 0.18)
    sides = smooth_step((1.0 - np.abs(site.across)) / 0.2)
    return np.asarray(bump * rise * sides * site.outer)


def fade(site: Site, rules: CutBack) -> Floats:
    """(n,) 0 at the margin and beyond it, 1 from fade_mm on."""
    if rules.fade_mm <= 0:
        return np.where(site.margin_mm >= 0, 1.0, 0.0)
    return smooth_step(site.margin_mm / rules.fade_mm)


def least_mm(site: Site, rules: CutBack) -> tuple[Floats, Floats]:
    """(n,) least enamel and (n,) least cover of the core (coats and dentine), mm.

    Where the room is short of the two together, each gets its proportion; both run out at the margin.
    """
    needed = rules.least_room_mm
    part = np.minimum(site.room_mm / needed, 1.0) if needed > 0 else np.ones_like(site.room_mm)
    part = part * fade(site, rules)
    return rules.least_enamel_mm * part, (rules.coats_mm + rules.least_dentine_mm) * part


def profile_mm(site: Site, rules: CutBack, across: Floats) -> Floats:
    """Local height of the dentine's incisal outline with its lobes at places across the crown, mm.

    Follows the contour's own edge tip_mm below it, valleys in the grooves, lower at the corners. Tips and
    valleys shrink together where the room over the core's top is short of them.
    """
    spare = max(site.edge_room_mm - rules.coats_mm - rules.least_dentine_mm, 0.0)
    asked = rules.tip_mm + rules.valley_mm
    scale = min(1.0, spare / asked) if asked > 0 else 1.0
    u = np.clip(across, -1.0, 1.0)
    drop = np.full_like(u, rules.tip_mm * scale) + rules.corner_mm * np.abs(u) ** 3
    for groove in rules.grooves:
        drop += rules.valley_mm * scale * np.exp(-0.5 * ((u - groove) / (1.25 * rules.groove_reach)) ** 2)
    return np.asarray(np.interp(u, site.edge_across, site.edge_z_mm) - drop)
