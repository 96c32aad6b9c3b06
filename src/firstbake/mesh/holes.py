"""Closing small holes and parting pinched vertices."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstbake.mesh.loops import loop_length_mm
from firstbake.mesh.patches import edges_of
from firstbake.mesh.surface import Floats, Ints, Surface
from firstbake.mesh.weld import edge_use

_SMALL_MM = 6.0  # common practice, no published source: no crown margin is shorter
_MOST_CORNERS = 80  # larger loops get a fan about a new vertex; the exact filling takes corners cubed


def close_small_holes(surface: Surface, *, keep_margin: bool = True) -> tuple[Surface, int, int]:
    """Close loops shorter than 6 mm.

    keep_margin : True leaves the longest loop open when it is at least as long as the surface is wide
    returns : the surface (new vertices come last), how many holes were closed, and how many loops beside
              the longest one are too long to close
    """
    loops = surface.loops
    if not loops:
        return surface, 0, 0
    lengths = [loop_length_mm(surface, loop) for loop in loops]
    low, high = surface.bounds_mm
    margin_like = keep_margin and lengths[0] >= float((high - low).max())
    small = [
        loop
        for k, loop in enumerate(loops)
        if lengths[k] < _SMALL_MM and len(loop) > 2 and not (k == 0 and margin_like)
    ]
    large = sum(1 for length in lengths[1:] if length >= _SMALL_MM)
    if not small:
        return surface, 0, large
    taken = {(a, b) for a, b in edges_of(surface.faces).tolist()}
    points, faces = [surface.vertices_mm], [surface.faces]
    count = len(surface.vertices_mm)
    for loop in small:
        filling = _least_area(surface.vertices_mm[loop], loop, taken) if len(loop) <= _MOST_CORNERS else None
        if filling is None:
            points.append(surface.vertices_mm[loop].mean(axis=0)[None])
            filling = np.column_stack([np.roll(loop, -1), loop, np.full(len(loop), count)]).astype(np.int32)
            count += 1
        faces.append(filling)
        taken.update((a, b) for a, b in edges_of(filling).tolist())
    return Surface(np.vstack(points), np.vstack(faces)), len(small), large


def _least_area(ring: Floats, loop: NDArray[np.int32], taken: set[tuple[int, int]]) -> Ints | None:
    """The triangulation of a loop with the least area (dynamic programming); None when none is free.

    source : Barequet and Sharir 1995, Filling gaps in the boundary of a polyhedron, CAGD 12(2)
    """
    k = len(ring)
    cost = np.full((k, k), np.inf)
    split = np.zeros((k, k), dtype=np.int64)
    cost[np.arange(k - 1), np.arange(1, k)] = 0.0
    for gap in range(2, k):
        for i in range(k - gap):
            j = i + gap
            edge = (int(min(loop[i], loop[j])), int(max(loop[i], loop[j])))
            if gap < k - 1 and edge in taken:
                continue
            between = np.arange(i + 1, j)
            area = 0.5 * np.linalg.norm(np.cross(ring[between] - ring[i], ring[j] - ring[i]), axis=1)
            total = cost[i, between] + cost[between, j] + area
            best = int(np.argmin(total))
            cost[i, j], split[i, j] = total[best], between[best]
    if not np.isfinite(cost[0, k - 1]):
        return None
    faces, open_spans = [], [(0, k - 1)]
    while open_spans:
        i, j = open_spans.pop()
        if j - i >= 2:
            m = int(split[i, j])
            faces.append((loop[j], loop[m], loop[i]))
            open_spans += [(i, m), (m, j)]
    return np.array(faces, dtype=np.int32)


def part_pinched(vertices: Floats, faces: Ints) -> tuple[Floats, Ints, int]:
    """Give each fan of faces at a vertex its own copy of the vertex.

    returns : vertices (copies come last), faces, how many copies were made
    """
    number, count = edge_use(faces)
    corner = np.arange(faces.size).reshape(-1, 3)
    order = np.argsort(number.ravel(), kind="stable")
    shared = order[np.repeat(count == 2, count)].reshape(-1, 2)
    start, end = corner.ravel(), np.roll(corner, -1, axis=1).ravel()
    flat = faces.ravel()
    one, two = shared.T
    same = flat[start[one]] == flat[start[two]]
    links = np.vstack(
        [
            np.column_stack([start[one], np.where(same, start[two], end[two])]),
            np.column_stack([end[one], np.where(same, end[two], start[two])]),
        ]
    )
    graph = coo_array((np.ones(len(links)), (links[:, 0], links[:, 1])), shape=(flat.size, flat.size))
    fans, fan = connected_components(graph, directed=False)
    _, first = np.unique(fan, return_index=True)
    owner = flat[first]
    extra = np.ones(fans, dtype=bool)
    extra[np.unique(owner, return_index=True)[1]] = False
    place = owner.astype(np.int64)
    place[extra] = len(vertices) + np.arange(int(extra.sum()))
    return (
        np.vstack([vertices, vertices[owner[extra]]]),
        place[fan].reshape(-1, 3).astype(np.int32),
        int(extra.sum()),
    )
