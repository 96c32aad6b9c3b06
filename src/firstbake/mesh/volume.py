"""Volumes between surfaces and of their overlap."""

import manifold3d
import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh
from firstbake.mesh.loops import loop_area_vector_mm2, loop_length_mm
from firstbake.mesh.nearest import nearest, winding_number
from firstbake.mesh.surface import Floats, Ints, Surface

_SMALL_HOLE_MM = 6.0  # a shorter loop beside the margin is a hole, not a margin; common practice, no source
_REACH_MM = 1.0  # how far a closed contour may reach past the margin of an open core; chosen here
_TIE = 1e-9  # distances and shares this close count as equal, so that rounding cannot turn the band
_CROSSED_MM = 1e-6  # a core that stands out by more than this is cut off by a boolean


def volume_between(outer: Surface, inner: Surface) -> float:
    """Volume between an outer surface and the inner one it covers, mm³.

    Both closed and nested: difference of the two divergence volumes, exact for the triangles; where the inner
    one stands out of the outer one, only what lies inside the outer one counts (boolean difference).
    Both open: difference of the divergence sums plus the ruled band between the two margin loops, zipped by
    arc length; the loops may differ in size, vertices and first vertex. Holes other than the margin are
    capped when their loop is shorter than 6 mm.
    One open, one closed: the open one is capped at its margin, then the boolean difference is taken.

    raises : BadMesh when the margin cannot be told, the loops run in opposite senses, or one of the two
             is closed and ends more than 1 mm away from the other's margin
    """
    outer, inner = _with_holes_capped(outer, "contour"), _with_holes_capped(inner, "core")
    if outer.is_closed and inner.is_closed:
        if not _stands_out(inner, outer):
            return outer.volume_mm3 - inner.volume_mm3
        return _solid_difference_mm3(outer, inner)
    if outer.is_closed:
        reach = _past_margin_mm(outer, inner)
        if reach > _REACH_MM:
            raise BadMesh(
                f"the closed contour reaches {reach:.1f} mm past the margin of the open core, so the volume "
                "between them has no end; cut the contour at the margin"
            )
        return _solid_difference_mm3(outer, capped(inner))
    if inner.is_closed:
        short = -_past_margin_mm(inner, outer)
        if short > _REACH_MM:
            raise BadMesh(
                f"the closed core ends {short:.1f} mm short of the margin of the open contour, so the volume "
                "between them has no end; give a core that is open at its margin"
            )
        return _solid_difference_mm3(capped(outer), inner)
    return _open_difference_mm3(outer, inner)


def overlap_volume(a: Surface, b: Surface) -> float:
    """Volume that both surfaces enclose, mm³; open ones are capped at their loops first.

    raises : BadMesh when a surface is no solid even with its loops capped
    """
    low, high = np.maximum(a.bounds_mm[0], b.bounds_mm[0]), np.minimum(a.bounds_mm[1], b.bounds_mm[1])
    if (low >= high).any():
        return 0.0
    return max(0.0, float((_solid(capped(a), "first") ^ _solid(capped(b), "second")).volume()))


def capped(surface: Surface) -> Surface:
    """The surface closed at every loop by a fan about the middle of the loop; itself when closed."""
    return _fanned(surface, surface.loops) if surface.loops else surface


def _fanned(surface: Surface, loops: tuple[NDArray[np.int32], ...]) -> Surface:
    points, faces = [surface.vertices_mm], [surface.faces]
    count = len(surface.vertices_mm)
    for loop in loops:
        ring = surface.vertices_mm[loop]
        ends = np.roll(loop, -1)
        weight = np.linalg.norm(surface.vertices_mm[ends] - ring, axis=1)
        middle = 0.5 * (ring + surface.vertices_mm[ends])
        points.append(np.average(middle, axis=0, weights=weight)[None])
        faces.append(np.column_stack([ends, loop, np.full(len(loop), count)]).astype(np.int32))
        count += 1
    return Surface(np.vstack(points), np.vstack(faces))


def _with_holes_capped(surface: Surface, name: str) -> Surface:
    holes = surface.loops[1:]
    for loop in holes:
        length = loop_length_mm(surface, loop)
        if length >= _SMALL_HOLE_MM:
            raise BadMesh(
                f"the {name} has a second open loop of {length:.1f} mm beside its margin, so it is not clear "
                "where it ends; close the hole and try again"
            )
    return _fanned(surface, holes) if holes else surface


def _open_difference_mm3(outer: Surface, inner: Surface) -> float:
    rim, lip = outer.loops[0], inner.loops[0]
    if loop_area_vector_mm2(outer, rim) @ loop_area_vector_mm2(inner, lip) <= 0:
        raise BadMesh(
            "the margin loops of contour and core run in opposite senses, so one of them is inside out "
            "or turned over; check that both face outwards"
        )
    origin = outer.vertices_mm[rim].mean(axis=0)
    a, b = outer.vertices_mm[rim] - origin, inner.vertices_mm[lip] - origin
    return (
        _divergence_mm3(outer.vertices_mm - origin, outer.faces)
        - _divergence_mm3(inner.vertices_mm - origin, inner.faces)
        + _divergence_mm3(np.vstack([a, b]), zip_loops(a, b))
    )


def _divergence_mm3(points: Floats, faces: NDArray[np.int32]) -> float:
    a, b, c = (points[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def zip_loops(rim_mm: Floats, lip_mm: Floats) -> Ints:
    """The ruled band between two loops that run in the same sense.

    rim_mm, lip_mm : (p, 3) and (q, 3) mm
    returns        : (p + q, 3) faces; rows of rim_mm first, then lip_mm counted on from p. They carry the
                     edges of the rim backwards and those of the lip forwards.
    The walk starts at the nearest pair of vertices; of the two next vertices the one that lies less far
    along its own loop (as a share of its length) comes next.
    """
    p, q = len(rim_mm), len(lip_mm)
    apart = np.linalg.norm(rim_mm[:, None] - lip_mm[None], axis=2)
    first_rim, first_lip = np.unravel_index(int(np.argmax(apart <= apart.min() * (1 + _TIE))), apart.shape)
    along_rim, along_lip = _shares(rim_mm, int(first_rim)), _shares(lip_mm, int(first_lip))
    share = np.round(np.concatenate([along_rim[1:], along_lip[1:]]) / _TIE)
    on_lip = np.repeat([False, True], [p, q])
    order = np.argsort(share, kind="stable")
    step_lip = on_lip[order]
    before_lip = np.cumsum(step_lip) - step_lip
    before_rim = np.cumsum(~step_lip) - ~step_lip
    rim = (first_rim + before_rim) % p
    lip = p + (first_lip + before_lip) % q
    next_rim = (first_rim + before_rim + 1) % p
    next_lip = p + (first_lip + before_lip + 1) % q
    faces = np.where(
        step_lip[:, None],
        np.column_stack([lip, next_lip, rim]),
        np.column_stack([next_rim, rim, lip]),
    )
    return faces.astype(np.int32)


def _shares(ring: Floats, first: int) -> Floats:
    """(k + 1,) share of the loop's length at each vertex, from the first vertex round to itself."""
    turned = np.roll(ring, -first, axis=0)
    steps = np.linalg.norm(np.roll(turned, -1, axis=0) - turned, axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    total = along[-1]
    return np.asarray(along / total if total > 0 else np.linspace(0.0, 1.0, len(along)))


def _stands_out(inner: Surface, outer: Surface) -> bool:
    outside = inner.vertices_mm[winding_number(outer, inner.vertices_mm) < 0.5]
    return bool((nearest(outer, outside).distance_mm > _CROSSED_MM).any())


def _past_margin_mm(surface: Surface, cup: Surface) -> float:
    """How far the surface reaches past the margin of an open cup, mm; less than 0 when it ends short."""
    loop = cup.loops[0]
    into = loop_area_vector_mm2(cup, loop)
    out = -into / np.linalg.norm(into)
    return float((surface.vertices_mm @ out).max() - (cup.vertices_mm[loop] @ out).max())


def _solid_difference_mm3(outer: Surface, inner: Surface) -> float:
    return float((_solid(outer, "outer") - _solid(inner, "inner")).volume())


def _solid(surface: Surface, name: str) -> manifold3d.Manifold:
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(
            np.array(surface.vertices_mm, dtype=np.float64), np.array(surface.faces, dtype=np.uint64)
        )
    )
    if solid.status() != manifold3d.Error.NoError:
        raise BadMesh(
            f"the {name} surface is not a solid ({solid.status().name}: edges that do not pair up); "
            "repair it so that each edge has two faces"
        )
    return solid
