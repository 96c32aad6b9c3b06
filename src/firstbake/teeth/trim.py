"""Cutting a surface along a line on it, and letting an open margin run on downward."""

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadCase
from firstbake.mesh import Surface, sub_surface, vertex_components
from firstbake.teeth.frame import Frame

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]


def kept_above(surface: Surface, value: Floats) -> Surface:
    """The part of a surface where value is greater than 0, cut through the triangles; its largest patch.

    value  : (n,) at the vertices, taken as linear over each triangle
    raises : BadCase when nothing is left
    """
    value = np.where(np.abs(value) < 1e-9, 1e-9, value)
    above = value[surface.faces] > 0
    count = above.sum(axis=1)
    if not count.any():
        raise BadCase("nothing of the surface lies on the crown's side of the margin; check the margin")
    whole = surface.faces[count == 3]
    one = _turned(surface.faces[count == 1], above[count == 1])
    two = _turned(surface.faces[count == 2], ~above[count == 2])
    edges = np.concatenate([one[:, [0, 1]], one[:, [0, 2]], two[:, [0, 1]], two[:, [0, 2]]])
    points, number = _crossings(surface, value, edges)
    number = (number + len(surface.vertices_mm)).astype(np.int32)
    a, b, c, d = np.split(number, np.cumsum([len(one), len(one), len(two)]))
    faces = [
        whole,
        np.column_stack([one[:, 0], a, b]),
        np.column_stack([c, two[:, 1], two[:, 2]]),
        np.column_stack([c, two[:, 2], d]),
    ]
    cut = Surface(np.concatenate([surface.vertices_mm, points]), np.concatenate(faces))
    patch = vertex_components(cut, np.ones(len(cut.vertices_mm), dtype=bool))
    return sub_surface(cut, patch[cut.faces[:, 0]] == 0)[0]


def _turned(faces: Ints, single: NDArray[np.bool_]) -> Ints:
    """Faces turned so that their one marked corner comes first."""
    order = (single.argmax(axis=1)[:, None] + np.arange(3)) % 3
    return np.take_along_axis(faces, order, axis=1)


def _crossings(surface: Surface, value: Floats, edges: Ints) -> tuple[Floats, NDArray[np.int64]]:
    """(k, 3) points where the value is 0, each edge once, and the number of each given edge's point."""
    ends = np.sort(edges, axis=1)
    distinct, number = np.unique(ends, axis=0, return_inverse=True)
    low, high = value[distinct[:, 0]], value[distinct[:, 1]]
    share = np.clip(low / (low - high), 1e-6, 1 - 1e-6)[:, None]
    vertices = surface.vertices_mm
    return vertices[distinct[:, 0]] * (1 - share) + vertices[distinct[:, 1]] * share, number.ravel()


def with_skirt(contour: Surface, frame: Frame, *, length_mm: float) -> Surface:
    """A contour open at the margin, carried on straight down from the margin and closed by a flat bottom.

    It gives distances near the margin a clear sign. Closed contours come back unchanged; vertices and
    faces of the contour keep their numbers. length_mm : from the lowest point of the margin, mm
    """
    if not contour.loops:
        return contour
    ring = contour.loops[0]
    local = frame.to_local(contour.vertices_mm[ring])
    below = local.copy()
    below[:, 2] = local[:, 2].min() - length_mm
    middle = below.mean(axis=0, keepdims=True)
    count, k = len(contour.vertices_mm), len(ring)
    low = count + np.arange(k)
    following = np.roll(np.arange(k), -1)
    walls = np.concatenate(
        [
            np.column_stack([ring[following], ring, low]),
            np.column_stack([ring[following], low, low[following]]),
            np.column_stack([low[following], low, np.full(k, count + k)]),
        ]
    )
    vertices = np.concatenate([contour.vertices_mm, frame.to_file(below), frame.to_file(middle)])
    return Surface(vertices, np.concatenate([contour.faces, walls.astype(np.int32)]))
