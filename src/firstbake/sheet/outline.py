"""Outline: the edge of a surface as it is seen from one side, and lines with fewer points."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from firstbake.mesh import Surface
from firstbake.sheet.raster import covered
from firstbake.sheet.views import View

Floats = NDArray[np.float64]

_PIXEL_MM = 0.02  # 0.1 mm on paper at 5:1, about a pen line's half width
_SOFT_PX = 1.2  # blur that takes the pixel steps out of the edge
_SLACK_MM = 0.004  # how far a thinned line may lie from the full one


def outline_of(surface: Surface, view: View) -> tuple[Floats, ...]:
    """Closed lines round what is seen of a surface, each (k, 2) mm right and up, longest first.

    Found on a raster of 0.02 mm, so true to about 0.015 mm on each side. Specks under 1 mm round are
    left out.
    """
    seen = view.seen(surface.vertices_mm)
    low = seen[:, :2].min(axis=0) - 6 * _PIXEL_MM
    high = seen[:, :2].max(axis=0) + 6 * _PIXEL_MM
    columns, rows = np.ceil((high - low) / _PIXEL_MM).astype(int) + 1
    points = (seen[:, :2] - low) / _PIXEL_MM
    mask = covered(points, surface.faces, shape=(int(rows), int(columns)))
    inside = gaussian_filter(mask.astype(np.float64), _SOFT_PX)
    lines = [line * _PIXEL_MM + low for line in level_lines(inside, 0.5)]
    lines = [thinned(line, closed=True) for line in lines if _length(line) > 1.0]
    return tuple(sorted(lines, key=_length, reverse=True))


def _length(line: Floats) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0, append=line[:1]), axis=1).sum())


def level_lines(field: Floats, level: float) -> list[Floats]:
    """Closed lines where a field (rows, columns) crosses a level, each (k, 2) column and row.

    Marching squares with linear steps along the edges of the cells; the field must be below the level
    all round its border, so that every line closes.
    """
    above = field >= level
    rows, columns = field.shape
    number = np.arange(rows * columns).reshape(rows, columns)
    cell = above[:-1, :-1] * 1 + above[:-1, 1:] * 2 + above[1:, 1:] * 4 + above[1:, :-1] * 8
    # edges of a cell: 0 top, 1 right, 2 bottom, 3 left; pairs walk with the inside on one hand
    pairs = {
        1: ((3, 0),), 2: ((0, 1),), 3: ((3, 1),), 4: ((1, 2),), 5: ((3, 0), (1, 2)),
        6: ((0, 2),), 7: ((3, 2),), 8: ((2, 3),), 9: ((2, 0),), 10: ((0, 1), (2, 3)),
        11: ((2, 1),), 12: ((1, 3),), 13: ((1, 0),), 14: ((0, 3),),
    }  # fmt: skip
    follow: dict[int, int] = {}
    for kind, links in pairs.items():
        i, j = np.nonzero(cell == kind)
        edge = (2 * number[i, j], 2 * number[i, j + 1] + 1, 2 * number[i + 1, j], 2 * number[i, j] + 1)
        for start, end in links:
            follow.update(zip(edge[start].tolist(), edge[end].tolist(), strict=True))
    lines = []
    while follow:
        first, here = follow.popitem()
        walk = [first]
        while here != first:
            walk.append(here)
            here = follow.pop(here)
        lines.append(_crossings(field, level, edges=np.array(walk)))
    return lines


def _crossings(field: Floats, level: float, *, edges: NDArray[np.int64]) -> Floats:
    """(k, 2) column and row where each edge is crossed; even edges run right, odd ones down."""
    i, j = np.divmod(edges // 2, field.shape[1])
    down = edges % 2
    here, there = field[i, j], field[i + down, j + 1 - down]
    share = (level - here) / (there - here)
    return np.stack([j + share * (1 - down), i + share * down], axis=1)


def thinned(line: Floats, *, closed: bool, slack: float = _SLACK_MM) -> Floats:
    """The points of a line that matter: no dropped point lies farther than `slack` from the line kept.

    Douglas and Peucker, The Canadian Cartographer 10 (1973) 112.
    """
    points = np.vstack([line, line[:1]]) if closed else line
    keep = np.zeros(len(points), dtype=bool)
    keep[[0, -1]] = True
    middle = int(np.argmax(np.linalg.norm(points - points[0], axis=1)))
    keep[middle] = True
    stack = [(0, middle), (middle, len(points) - 1)]
    while stack:
        first, last = stack.pop()
        if last - first < 2:
            continue
        way = points[last] - points[first]
        off = points[first + 1 : last] - points[first]
        length = max(float(np.linalg.norm(way)), 1e-12)
        far = np.abs(off[:, 0] * way[1] - off[:, 1] * way[0]) / length
        worst = int(np.argmax(far))
        if far[worst] > slack:
            keep[first + 1 + worst] = True
            stack += [(first, first + 1 + worst), (first + 1 + worst, last)]
    kept = points[keep]
    return kept[:-1] if closed else kept
