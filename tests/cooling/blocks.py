"""Bodies for the tests: boxes of tetrahedra, round shells on a round core."""

import numpy as np
import trimesh

from firstbake.cooling import Solid, with_core
from firstbake.fem import mesh_veneer
from firstbake.mesh import Surface
from firstbake.powder import USUAL_VISCOSITY


def box(sizes_mm, cells):
    """Nodes and tetrahedra of a box, six to a brick."""
    axes = [np.linspace(0, size, n + 1) for size, n in zip(sizes_mm, cells, strict=True)]
    nodes = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    number = np.arange(len(nodes)).reshape([n + 1 for n in cells])
    corner = {
        (i, j, k): number[i : cells[0] + i, j : cells[1] + j, k : cells[2] + k].ravel()
        for i in (0, 1)
        for j in (0, 1)
        for k in (0, 1)
    }
    tets = []
    for way in ((0, 1, 2), (1, 2, 0), (2, 0, 1), (0, 2, 1), (2, 1, 0), (1, 0, 2)):
        place, path = [0, 0, 0], [(0, 0, 0)]
        for axis in way:
            place[axis] = 1
            path.append(tuple(place))
        cell = np.stack([corner[p] for p in path], axis=1)
        tets.append(cell if way in ((0, 1, 2), (1, 2, 0), (2, 0, 1)) else cell[:, [0, 1, 3, 2]])
    return nodes, np.concatenate(tets)


def sphere(radius_mm, finer=4):
    made = trimesh.creation.icosphere(finer, radius_mm)
    return Surface(np.array(made.vertices), np.array(made.faces, dtype=np.int64))


def ball(step_mm, *, inner=3.5, bond=4.0, outer=5.5):
    """Porcelain from bond to outer on a wall from inner to bond, all round."""
    return with_core(mesh_veneer(sphere(outer), sphere(bond), step_mm=step_mm), bond - inner)


def pair(ratio=1.5, mismatch=1.0, expansion=9.5):
    """Veneer and zirconia; ratio: expansion of the melt less that of the solid, over that of the solid."""
    veneer = Solid(
        "veneer",
        68.0,
        0.22,
        1.2,
        2.45,
        780.0,
        1050.0,
        expansion,
        liquid_ratio=1 + ratio,
        viscosity=USUAL_VISCOSITY,
    )
    return veneer, Solid("zirconia", 210.0, 0.30, 2.5, 6.05, 460.0, 600.0, expansion + mismatch)
