"""Boundary loops of an open surface."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from firstbake.mesh.surface import Surface


def free_edges(faces: NDArray[np.int32]) -> NDArray[np.int32]:
    """(k, 2) directed edges that only one face uses, in that face's direction. faces : (m, 3)."""
    edges = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    ordered = np.sort(edges, axis=1).astype(np.int64)
    key = ordered[:, 0] * (int(faces.max()) + 1) + ordered[:, 1]
    _, first, counts = np.unique(key, return_index=True, return_counts=True)
    return np.asarray(edges[first[counts == 1]], dtype=np.int32)


def boundary_loops(surface: "Surface") -> tuple[NDArray[np.int32], ...]:
    """Closed boundary loops as vertex numbers in the direction of their faces, longest first.

    At a vertex where several loops touch, any free outgoing edge continues the walk.
    """
    outgoing: dict[int, list[int]] = {}
    for start, end in free_edges(surface.faces).tolist():
        outgoing.setdefault(start, []).append(end)
    loops: list[NDArray[np.int32]] = []
    while outgoing:
        start = next(iter(outgoing))
        walk = [start]
        here = start
        while here in outgoing:
            following = outgoing[here].pop()
            if not outgoing[here]:
                del outgoing[here]
            if following == start:
                break
            walk.append(following)
            here = following
        loops.append(np.array(walk, dtype=np.int32))

    def length_mm(loop: NDArray[np.int32]) -> float:
        points = surface.vertices_mm[loop]
        return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())

    return tuple(sorted(loops, key=length_mm, reverse=True))
