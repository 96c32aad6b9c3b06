"""Shells: winding, outward sense, strays."""

from dataclasses import dataclass

import igl
import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh
from firstbake.mesh.nearest import winding_number
from firstbake.mesh.patches import sub_surface
from firstbake.mesh.surface import Floats, Ints, Surface
from firstbake.mesh.volume import capped
from firstbake.mesh.weld import edge_use

_SPECK = 0.01  # of the largest body's area; a smaller shell beside it is a speck. Chosen here
_RIVAL = 0.3  # of the largest body's area; a larger second body makes the choice unclear. Chosen here

_MOST_SHELLS = 2000  # a file in more pieces is a soup of triangles. Chosen here


@dataclass(frozen=True, eq=False)
class Shell:
    """One connected shell of a file.

    part       : the shell alone, facing outwards
    faces      : (m,) True for its faces in the file
    area_mm2   : its area
    inside_out : True when the file had it facing inwards
    """

    part: Surface
    faces: NDArray[np.bool_]
    area_mm2: float
    inside_out: bool


def without_fins(faces: Ints, areas: Floats) -> tuple[NDArray[np.bool_], int]:
    """(m,) False for fins and inner walls: the smallest sheet goes until no edge has three faces.

    returns : the mask, and how many sheets went. Where a single sheet meets itself, its faces at the shared
              edge go; the hole that leaves is closed like any other.
    """
    keep, gone = np.ones(len(faces), dtype=bool), 0
    for turn in range(40):
        alive = np.flatnonzero(keep)
        number, count = edge_use(faces[alive])
        at_fin = (count[number] > 2).any(axis=1)
        if not at_fin.any():
            break
        _, sheet = igl.bfs_orient(faces[alive].astype(np.int64))
        sheet = np.asarray(sheet).ravel()
        size = np.bincount(sheet, weights=areas[alive])
        touching = np.unique(sheet[at_fin])
        smallest = touching[np.argmin(size[touching])]
        alone = len(touching) == 1 or turn >= 20
        keep[alive[at_fin if alone else sheet == smallest]] = False
        gone += 1
    return keep, gone


def turned_alike(faces: Ints, *, name: str) -> tuple[Ints, NDArray[np.int64], int]:
    """Faces of each shell turned alike; the sense most of them had wins.

    returns : faces, (m,) shell of each face, how many faces were turned
    raises  : BadMesh for a surface with one side only
    """
    turned, shell = igl.bfs_orient(faces.astype(np.int64))
    turned, shell = np.asarray(turned), np.asarray(shell).ravel().astype(np.int64)
    directed = turned[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    key = np.sort(directed[:, 0] * (int(faces.max()) + 1) + directed[:, 1])
    if (key[1:] == key[:-1]).any():
        raise BadMesh(f"{name}: the surface has one side only, so inside and outside cannot be told apart")
    changed = _orientation(turned) != _orientation(faces)
    total, wrong = np.bincount(shell), np.bincount(shell, weights=changed)
    back = (wrong * 2 > total)[shell]
    turned[back] = turned[back][:, ::-1]
    return turned.astype(np.int32), shell, int(np.minimum(wrong, total - wrong).sum())


def _orientation(faces: NDArray[np.integer]) -> NDArray[np.bool_]:
    """(m,) True when the corners are an even turn of their ascending order."""
    lowest = np.argmin(faces, axis=1)
    row = np.arange(len(faces))
    return np.asarray(faces[row, (lowest + 1) % 3] < faces[row, (lowest + 2) % 3])


def shells_of(vertices: Floats, faces: Ints, shell: NDArray[np.int64], *, name: str) -> list[Shell]:
    """The shells, greatest area first, each turned so that its capped volume is greater than 0.

    raises : BadMesh when there are more than 2000 of them
    """
    whole, found = Surface(vertices, faces), []
    count = int(shell.max()) + 1
    if count > _MOST_SHELLS:
        raise BadMesh(
            f"{name}: the surface falls into {count} pieces, so its triangles do not share their corners; "
            "export it again as one connected surface"
        )
    for number in range(count):
        mask = shell == number
        part, _ = sub_surface(whole, mask)
        inside_out = capped(part).volume_mm3 < 0
        if inside_out:
            part = Surface(part.vertices_mm, part.faces[:, ::-1])
        found.append(Shell(part, mask, part.area_mm2, inside_out))
    return sorted(found, key=lambda s: s.area_mm2, reverse=True)


def is_within(inner: Surface, outer: Surface) -> bool:
    """True when the middle vertex of one shell, and most of the rest, lie inside the other (capped) one."""
    step = max(1, len(inner.vertices_mm) // 200)
    return bool(np.median(winding_number(capped(outer), inner.vertices_mm[::step])) > 0.5)


def sort_out(shells: list[Shell], *, several: bool, name: str) -> tuple[list[Shell], list[Shell]]:
    """Shells to keep and shells to drop.

    several : True keeps every body, and drops specks and inside-out shells inside another body;
              False keeps the largest shell only
    raises  : BadMesh when one body is wanted and a second of similar size lies beside it
    """
    main = shells[0]
    kept = [main]
    dropped: list[Shell] = []
    for shell in shells[1:]:
        if several:
            speck = shell.area_mm2 < _SPECK * main.area_mm2
            hollow = shell.inside_out and any(is_within(shell.part, other.part) for other in kept)
            (dropped if speck or hollow else kept).append(shell)
            continue
        if shell.area_mm2 > _RIVAL * main.area_mm2 and not is_within(shell.part, main.part):
            raise BadMesh(
                f"{name}: the file holds several bodies of similar size ({main.area_mm2:.0f} and "
                f"{shell.area_mm2:.0f} mm²), so it is not clear which one is meant; "
                "export the single tooth as one body"
            )
        dropped.append(shell)
    return kept, dropped
