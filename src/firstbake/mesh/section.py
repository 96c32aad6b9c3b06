"""Plane sections of a surface, joined into lines."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.errors import BadMesh
from firstbake.mesh.surface import Floats, Surface


@dataclass(frozen=True, eq=False)
class Polyline:
    """A line of straight pieces.

    points_mm : (k, 3) mm; a closed line does not repeat its first point
    closed    : True when the last point joins the first
    """

    points_mm: Floats
    closed: bool

    def __post_init__(self) -> None:
        points = np.array(self.points_mm, dtype=np.float64, order="C").reshape(-1, 3)
        points.flags.writeable = False
        object.__setattr__(self, "points_mm", points)

    @property
    def length_mm(self) -> float:
        """Length along the line, mm, the closing piece included."""
        points = np.vstack([self.points_mm, self.points_mm[:1]]) if self.closed else self.points_mm
        return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def section(surface: Surface, origin_mm: ArrayLike, normal: ArrayLike) -> tuple[Polyline, ...]:
    """Cut the surface with a plane; longest line first, empty when the plane misses.

    Exact for the triangles: every point lies on an edge, and neighbouring triangles share it. Seen against
    the normal, the inside of the surface lies on the left of every line. A vertex on the plane counts as
    above it, so a face that lies in the plane adds nothing of its own.

    origin_mm, normal : (3,) a point of the plane, mm, and its normal (any length)
    raises            : BadMesh when the normal has no length
    """
    direction = np.asarray(normal, dtype=np.float64).reshape(3)
    size = float(np.linalg.norm(direction))
    if not (size > 0 and np.isfinite(size)):
        raise BadMesh("a section needs a plane normal with a length; give a vector that is not zero")
    height = (surface.vertices_mm - np.asarray(origin_mm, dtype=np.float64).reshape(3)) @ (direction / size)
    starts, ends = _crossed_edges(surface.faces, height >= 0)
    if len(starts) == 0:
        return ()
    edges, node = np.unique(np.vstack([starts, ends]), axis=0, return_inverse=True)
    low, high = height[edges[:, 0]], height[edges[:, 1]]
    share = (low / (low - high))[:, None]
    points = surface.vertices_mm[edges[:, 0]] * (1 - share) + surface.vertices_mm[edges[:, 1]] * share
    node = node.reshape(2, -1)
    lines = [_line(points[chain], closed) for chain, closed in _joined(node[0], node[1])]
    return tuple(
        sorted((line for line in lines if line is not None), key=lambda p: p.length_mm, reverse=True)
    )


def _crossed_edges(faces: NDArray[np.int32], above: NDArray[np.bool_]) -> tuple[NDArray[np.int64], ...]:
    """For each crossed face the (k, 2) edges where the cut enters and leaves, lower vertex number first."""
    corner = above[faces]
    crossed = corner.any(axis=1) & ~corner.all(axis=1)
    faces, corner = faces[crossed].astype(np.int64), corner[crossed]
    lone_above = corner.sum(axis=1) == 1
    lone = np.argmax(np.where(lone_above[:, None], corner, ~corner), axis=1)
    row = np.arange(len(faces))
    a, b, c = (faces[row, (lone + k) % 3] for k in range(3))
    ab, ca = np.sort(np.column_stack([a, b]), axis=1), np.sort(np.column_stack([a, c]), axis=1)
    return np.where(lone_above[:, None], ab, ca), np.where(lone_above[:, None], ca, ab)


def _joined(starts: NDArray[np.int64], ends: NDArray[np.int64]) -> list[tuple[list[int], bool]]:
    """Chains of node numbers from directed pieces; open chains are walked from their first node."""
    outgoing: dict[int, list[int]] = {}
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        outgoing.setdefault(start, []).append(end)
    incoming = np.bincount(ends, minlength=int(max(starts.max(), ends.max())) + 1)
    heads = [node for node, out in outgoing.items() for _ in range(len(out) - int(incoming[node]))]
    chains: list[tuple[list[int], bool]] = []
    while outgoing:
        start = heads.pop() if heads else next(iter(outgoing))
        walk = [start]
        while walk[-1] in outgoing:
            following = outgoing[walk[-1]]
            walk.append(following.pop())
            if not following:
                del outgoing[walk[-2]]
            if walk[-1] == start and not heads:
                break
        closed = len(walk) > 1 and walk[-1] == start
        chains.append((walk[:-1] if closed else walk, closed))
    return chains


def _line(points: Floats, closed: bool) -> Polyline | None:
    """The line without repeated points; None when it shrinks to a point."""
    before = np.roll(points, 1, axis=0)
    keep = (points != before).any(axis=1)
    if not closed:
        keep[0] = True
    points = points[keep]
    return Polyline(points, closed) if len(points) > 1 else None
