"""Small bodies meshed straight from formulas."""

from collections.abc import Callable

import numpy as np

from firstbake.fem import Body
from firstbake.fem.clip import Fielded, clip
from firstbake.fem.lattice import lattice
from firstbake.fem.tetrahedra import compacted, oriented


def clipped(
    low, high, step, fields: dict[str, Callable]
) -> tuple[np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """Lattice clipped by each field in turn; points, tets and which points lie on each field's zero."""
    low, high = np.asarray(low, float), np.asarray(high, float)
    points, tets = lattice(low, high, step_mm=step, keep=lambda c: np.ones(len(c), bool))
    mesh = Fielded(points, tets, {name: f(points) for name, f in fields.items()})
    for name in fields:
        others = [mesh.fields[k] == 0 for k in fields if k != name]
        mesh = clip(mesh, name, locked=np.any(others, axis=0) if others else None)
    points, tets, used = compacted(mesh.points_mm, mesh.tets)
    return points, tets, {k: v[used] == 0 for k, v in mesh.fields.items()}


def ball_shell(step, inner=3.0, outer=4.5):
    """Body bonded to a rigid ball, and its outer nodes."""
    radius = lambda p: np.linalg.norm(p, axis=1)  # noqa: E731
    keep = lambda c: (radius(c) > inner - step) & (radius(c) < outer + step)  # noqa: E731
    points, tets = lattice(np.full(3, -5.01), np.full(3, 5.03), step_mm=step, keep=keep)
    mesh = Fielded(points, tets, {"in": radius(points) - inner, "out": outer - radius(points)})
    mesh = clip(mesh, "in")
    mesh = clip(mesh, "out", locked=mesh.fields["in"] == 0)
    points, tets, used = compacted(mesh.points_mm, mesh.tets)
    bonded, free = mesh.fields["in"][used] == 0, mesh.fields["out"][used] == 0
    points = (
        points
        * np.where(bonded, inner / radius(points), np.where(free, outer / radius(points), 1.0))[:, None]
    )
    return Body(points, tets, bonded), free


def box(counts, size) -> tuple[np.ndarray, np.ndarray]:
    """Points and tets of a box cut into cubes of six tetrahedra each."""
    axes = [np.linspace(0, s, c + 1) for c, s in zip(counts, size, strict=True)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    shape = tuple(c + 1 for c in counts)
    cells = np.stack(np.meshgrid(*(np.arange(c) for c in counts), indexing="ij"), axis=-1).reshape(-1, 3)
    at = lambda *d: np.ravel_multi_index((cells + np.array(d)).T, shape)  # noqa: E731
    ends = at(0, 0, 0), at(1, 1, 1)
    ways = [(0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0)]
    tets = []
    for way in ways:
        one = np.zeros(3, int)
        one[way[0]] = 1
        two = one.copy()
        two[way[1]] = 1
        tets.append(np.column_stack([ends[0], at(*one), at(*two), ends[1]]))
    return points, oriented(points, np.vstack(tets).astype(np.int64))


def film(count=2):
    """A film between four planes of symmetry: bonded at z = 0, held sideways all over its rim."""
    points, tets = box((2, 2, count), (1.0, 1.0, 0.5))
    held = np.zeros((len(points), 3), bool)
    for axis in (0, 1):
        held[:, axis] = np.isin(points[:, axis], (0.0, 1.0))
    return Body(points, tets, points[:, 2] == 0, held=held)
