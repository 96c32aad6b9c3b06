"""What a crown's own shape and its neighbours say about its axes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface, nearest
from firstbake.teeth.sizes import usual_sizes
from firstbake.teeth.tooth import Tooth

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Crown:
    """The crown part of a contour: points, outward normals and areas, file coordinates, mm."""

    points_mm: Floats
    normals: Floats
    areas_mm2: Floats


def crown_part(contour: Surface, centre_mm: Floats, axis: Floats) -> Crown:
    """Vertices of the contour on the crown's side of a plane through the margin's middle."""
    above = (contour.vertices_mm - centre_mm) @ axis > 0
    return Crown(contour.vertices_mm[above], contour.vertex_normals[above], contour.vertex_areas_mm2[above])


def unit(vector: Floats) -> Floats:
    """The vector at length 1."""
    return np.asarray(vector / max(float(np.linalg.norm(vector)), 1e-12))


def across(vector: Floats, axis: Floats) -> Floats:
    """Unit vector: the part of a vector at right angles to a unit axis."""
    return unit(vector - (vector @ axis) * axis)


def axis_to_edge(crown: Crown, centre_mm: Floats, start: Floats) -> Floats:
    """(3,) unit axis of a front tooth from the margin's middle to the middle of its edge.

    Taken twice: points within a tenth of the height of the top, middle of their extent along the edge.
    """
    axis = start
    for _ in range(3):
        height = (crown.points_mm - centre_mm) @ axis
        top = height > 0.92 * height.max()
        points, weight = crown.points_mm[top], crown.areas_mm2[top]
        middle = np.average(points, axis=0, weights=weight)
        along = across(_long_axis(points, weight), axis)
        share = (points - middle) @ along
        middle = middle + (share.max() + share.min()) / 2 * along
        axis = unit(middle - centre_mm)
    return axis


def axis_of_table(crown: Crown, start: Floats) -> Floats:
    """(3,) unit axis of a back tooth: at right angles to the walls, where their normals vary least."""
    wall = np.abs(crown.normals @ start) < 0.5
    weight = crown.areas_mm2 * wall
    spread = np.einsum("i,ij,ik->jk", weight, crown.normals, crown.normals)
    least = np.linalg.eigh(spread)[1][:, 0]
    least = least if least @ start > 0 else -least
    return unit(start + least) if least @ start > 0.9 else start


def _long_axis(points: Floats, weight: Floats) -> Floats:
    """(3,) direction of greatest spread."""
    middle = np.average(points, axis=0, weights=weight)
    spread = np.einsum("i,ij,ik->jk", weight, points - middle, points - middle)
    return np.asarray(np.linalg.eigh(spread)[1][:, 2])


def mesiodistal_by_shape(tooth: Tooth, crown: Crown, centre_mm: Floats, axis: Floats) -> Floats:
    """(3,) unit axis, sign open: along the edge of a front tooth, by the usual outline of a back tooth."""
    height = (crown.points_mm - centre_mm) @ axis
    share = height / height.max()
    band = share > (0.75 if tooth.kind == "incisor" else 0.55)
    if not tooth.is_front:
        band = (share > 0.2) & (share < 0.8)
    flat = crown.points_mm[band] - np.outer(height[band], axis)
    found = across(_long_axis(flat, crown.areas_mm2[band]), axis)
    sizes = usual_sizes(tooth)
    if not tooth.is_front and sizes.labiopalatal_mm > sizes.mesiodistal_mm:
        return unit(np.cross(axis, found))
    return found


def labial_vote(tooth: Tooth, crown: Crown, centre_mm: Floats, *, axis: Floats, side: Floats) -> float:
    """Greater than 0 when +side (unit, at right angles to axis and mesiodistal) is labial; size is weight.

    Front teeth: between margin and edge the labial face stands farther from the axis, and its midline
    bulges where the palatal one is hollow. Back teeth: the buccal wall leans more toward the table;
    premolars have the higher cusp buccally, lower molars lingually. Weights chosen on real teeth.
    """
    local = crown.points_mm - centre_mm
    height, out, wide = local @ axis, local @ side, local @ np.cross(axis, side)
    share = height / height.max()
    if not tooth.is_front:
        higher = {"premolar": 3.0, "molar": 0.0 if tooth.is_upper else -1.0}[tooth.kind]
        tops = (_highest(share[out > 0]) - _highest(share[out < 0])) * higher
        return 2.0 * _inward_lean(crown, axis=axis, side=side) + tops
    depth = float(np.ptp(out))
    central = np.abs(wide - (wide.max() + wide.min()) / 2) < 0.15 * np.ptp(wide)
    bands = [central & (share > low) & (share < low + 0.12) for low in (0.45, 0.55, 0.65)]
    reach = [(out[band].max() + out[band].min()) / depth for band in bands if band.any()]
    body = (share > 0.4) & (share < 0.8)
    middle = (out[body].max() + out[body].min()) / 2 if body.any() else 0.0
    strip = central & (share > 0.15) & (share < 0.9)
    front, back = strip & (out > middle), strip & (out < middle)
    hollow = _bow(share[back], -out[back] / depth) - _bow(share[front], out[front] / depth)
    return 2.0 * (float(np.mean(reach)) if reach else 0.0) + 0.5 * hollow


def _highest(share: Floats) -> float:
    """Greatest height share, 0 when there is none."""
    return float(share.max()) if len(share) else 0.0


def _bow(share: Floats, outward: Floats) -> float:
    """Second-order coefficient of a face's midline profile: greater than 0 hollow, less than 0 bulging."""
    return float(np.polyfit(share, outward, 2)[0]) if len(share) > 6 else 0.0


def _inward_lean(crown: Crown, *, axis: Floats, side: Floats) -> float:
    """How much more the wall on +side leans toward the table than the other one."""
    facing = crown.normals @ side
    rise = crown.normals @ axis
    one, other = (facing > 0.6) & (rise < 0.7), (facing < -0.6) & (rise < 0.7)
    if not one.any() or not other.any():
        return 0.0
    weight = crown.areas_mm2
    lean = np.average(rise[one], weights=weight[one]) - np.average(rise[other], weights=weight[other])
    return float(2.0 * lean)


def contact_sites(contour: Surface, neighbours: tuple[Surface, ...]) -> tuple[Floats, ...]:
    """For each neighbour within reach (2 mm): (3,) the point of the contour nearest to it, mm."""
    sites = []
    for neighbour in neighbours:
        found = nearest(neighbour, contour.vertices_mm).distance_mm
        if found.min() < 2.0:
            close = found < found.min() + 0.05
            sites.append(np.asarray(contour.vertices_mm[close].mean(axis=0)))
    return tuple(sites)


def arch_vote(centre_mm: Floats, neighbours: tuple[Surface, ...], *, axis: Floats, side: Floats) -> float:
    """Greater than 0 when both neighbours stand back from +side, as the arch bends toward the tongue."""
    if len(neighbours) < 2:
        return 0.0
    middles = np.array([(n.bounds_mm[0] + n.bounds_mm[1]) / 2 for n in neighbours[:2]])
    away = middles.mean(axis=0) - centre_mm
    spread = max(float(np.linalg.norm(across(middles[0] - middles[1], axis))), 1.0)
    spread *= max(float(np.linalg.norm(middles[0] - middles[1])), 1.0)
    return float(-3.0 * (away @ side) / max(np.sqrt(spread), 1.0))
