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

    No loop passes a vertex twice: where loops touch in a vertex, each closes for itself there.
    """
    outgoing: dict[int, list[int]] = {}
    for start, end in free_edges(surface.faces).tolist():
        outgoing.setdefault(start, []).append(end)
    loops: list[NDArray[np.int32]] = []
    while outgoing:
        walk = [next(iter(outgoing))]
        place = {walk[0]: 0}
        while walk and walk[-1] in outgoing:
            here = walk[-1]
            following = outgoing[here].pop()
            if not outgoing[here]:
                del outgoing[here]
            if following in place:
                start = place[following]
                loops.append(np.array(walk[start:], dtype=np.int32))
                for passed in walk[start + 1 :]:
                    del place[passed]
                del walk[start + 1 :]
                if start == 0 and following not in outgoing:
                    break
            else:
                place[following] = len(walk)
                walk.append(following)
    return tuple(sorted(loops, key=lambda loop: loop_length_mm(surface, loop), reverse=True))


def loop_length_mm(surface: "Surface", loop: NDArray[np.int32]) -> float:
    """Length of a closed loop of vertex numbers, mm."""
    points = surface.vertices_mm[loop]
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def loop_area_vector_mm2(surface: "Surface", loop: NDArray[np.int32]) -> NDArray[np.float64]:
    """(3,) area vector of a closed loop, mm²: half the sum of p × q over its edges from p to q.

    For the margin of a surface that faces outwards it points into the cup, away from the opening.
    """
    points = surface.vertices_mm[loop] - surface.vertices_mm[loop].mean(axis=0)
    return np.asarray(0.5 * np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0))
