"""Shapes with known answers, built from scratch for these tests."""

import math

import numpy as np
from numpy.typing import NDArray

from firstbake.mesh import Surface


def ball(
    radius: float,
    rows: int,
    *,
    centre: tuple[float, float, float] = (0, 0, 0),
    to: float = math.pi,
    turn: float = 0.0,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Sphere by latitude and longitude, outward; open below the polar angle `to` when that is under pi."""
    closed = to >= math.pi
    angles = np.linspace(0, to, rows + 1)[1 : -1 if closed else None]
    round_ = 2 * math.pi * np.arange(2 * rows) / (2 * rows) + turn
    rings = [
        np.column_stack(
            [np.sin(a) * np.cos(round_), np.sin(a) * np.sin(round_), np.full(2 * rows, np.cos(a))]
        )
        for a in angles
    ]
    points = np.vstack([[[0, 0, 1]], *rings, *([[[0, 0, -1]]] if closed else [])])
    n, faces = 2 * rows, []
    k = np.arange(n)
    after = (k + 1) % n
    faces.append(np.column_stack([np.zeros(n, int), 1 + k, 1 + after]))
    for row in range(len(rings) - 1):
        a, b, c, d = (1 + row * n + k, 1 + row * n + after, 1 + (row + 1) * n + k, 1 + (row + 1) * n + after)
        faces += [np.column_stack([a, c, d]), np.column_stack([a, d, b])]
    if closed:
        last = 1 + (len(rings) - 1) * n
        faces.append(np.column_stack([last + k, np.full(n, len(points) - 1), last + after]))
    return radius * points + np.array(centre), np.vstack(faces)


def sphere(radius: float, rows: int, **keys: object) -> Surface:
    """As ball(), as a Surface."""
    return Surface(*ball(radius, rows, **keys))  # type: ignore[arg-type]


def tube(radius: float, height: float, *, around: int, along: int) -> Surface:
    """Open cylinder about z, facing outwards."""
    t = 2 * math.pi * np.arange(around) / around
    rings = [
        np.column_stack([radius * np.cos(t), radius * np.sin(t), np.full(around, z)])
        for z in np.linspace(0, height, along + 1)
    ]
    k = np.arange(around)
    after = (k + 1) % around
    faces = []
    for row in range(along):
        a, b = row * around + k, row * around + after
        faces += [np.column_stack([a, b, b + around]), np.column_stack([a, b + around, a + around])]
    return Surface(np.vstack(rings), np.vstack(faces))


def torus(ring: float, pipe: float, n: int) -> Surface:
    """Closed torus about z, facing outwards; ring and pipe radius."""
    u = 2 * math.pi * np.arange(2 * n) / (2 * n)
    v = 2 * math.pi * np.arange(n) / n
    uu, vv = (a.ravel() for a in np.meshgrid(u, v, indexing="ij"))
    out = ring + pipe * np.cos(vv)
    points = np.column_stack([out * np.cos(uu), out * np.sin(uu), pipe * np.sin(vv)])
    i, j = (a.ravel() for a in np.meshgrid(np.arange(2 * n), np.arange(n), indexing="ij"))
    at = lambda p, q: (p % (2 * n)) * n + q % n  # noqa: E731
    a, b, c, d = at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)
    return Surface(points, np.vstack([np.column_stack([a, b, c]), np.column_stack([a, c, d])]))


def cube(side: float = 2.0, centre: tuple[float, float, float] = (0, 0, 0)) -> Surface:
    """Cube of twelve triangles, facing outwards."""
    corner = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)
    faces = [
        [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
        [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
    ]  # fmt: skip
    return Surface(corner * side / 2 + np.array(centre), np.array(faces))


def cap_mm3(radius: float, angle: float) -> float:
    """Volume of a spherical cap from the pole to a polar angle (any table of solids)."""
    height = radius * (1 - math.cos(angle))
    return math.pi * height**2 * (3 * radius - height) / 3
