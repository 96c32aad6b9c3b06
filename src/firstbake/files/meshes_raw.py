"""What a mesh file holds before repair, and the limits that keep a bad file from doing harm."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh

MOST_TRIANGLES = 2_000_000  # a scan of one tooth has 20,000 to 300,000; chosen here
MOST_BYTES = 600_000_000  # 2 million triangles of ASCII STL take about 500 MB
_LONGEST_NUMBER = 100  # characters
LARGEST_NUMBER = 1e9  # in any unit; larger coordinates are damage, not size


@dataclass(frozen=True, eq=False)
class RawMesh:
    """Triangles as a file gives them.

    vertices : (n, 3) float64, in the unit of the file      faces : (m, 3) int64, rows of vertices
    polygons : how many faces had more than three corners and were cut into triangles
    unit     : the unit the file states, or None
    """

    vertices: NDArray[np.float64]
    faces: NDArray[np.int64]
    polygons: int = 0
    unit: str | None = None


def check_count(count: int, *, name: str) -> None:
    """raises : BadMesh when a file states or holds more triangles than can be used."""
    if count > MOST_TRIANGLES:
        raise BadMesh(
            f"{name}: {count:,} triangles are more than the {MOST_TRIANGLES:,} that can be used; "
            "reduce the mesh to about 200,000 triangles and export it again"
        )


def numbers(words: Sequence[bytes], *, name: str) -> NDArray[np.float64]:
    """Words of a file as float64. raises : BadMesh when one is not a number."""
    if max(map(len, words), default=0) > _LONGEST_NUMBER:
        raise BadMesh(f"{name}: a coordinate has more than {_LONGEST_NUMBER} characters; export it again")
    try:
        return np.array(words, dtype=np.bytes_).astype(np.float64)
    except ValueError as reason:
        raise BadMesh(f"{name}: a coordinate is not a number ({reason}); export it again") from reason


def check_mesh(raw: RawMesh, *, name: str) -> None:
    """raises : BadMesh for a point cloud, coordinates that are not finite, or faces over missing vertices."""
    if len(raw.vertices) == 0:
        raise BadMesh(f"{name}: the file holds no vertices; export it again")
    if len(raw.faces) == 0:
        raise BadMesh(
            f"{name}: the file holds points without triangles; export it as a surface, not as a point cloud"
        )
    check_count(len(raw.faces), name=name)
    wrong = int((~np.isfinite(raw.vertices).all(axis=1)).sum())
    if wrong:
        raise BadMesh(
            f"{name}: {wrong} vertices have coordinates that are not finite numbers; export it again"
        )
    if float(np.abs(raw.vertices).max()) > LARGEST_NUMBER:
        raise BadMesh(f"{name}: no tooth has this size in any unit (a coordinate is over {LARGEST_NUMBER:g})")
    low, high = int(raw.faces.min()), int(raw.faces.max())
    if low < 0 or high >= len(raw.vertices):
        raise BadMesh(
            f"{name}: a face names vertex {low if low < 0 else high}, but there are {len(raw.vertices)}; "
            "the file is damaged, so export it again"
        )


def fans(corners: Sequence[Sequence[int]], *, name: str) -> tuple[NDArray[np.int64], int]:
    """Polygons cut into triangles about their first corner, and how many had more than three corners.

    raises : BadMesh when a corner is a number that no file can mean
    """
    faces = [(face[0], face[k], face[k + 1]) for face in corners for k in range(1, len(face) - 1)]
    try:
        triangles = np.array(faces, dtype=np.int64).reshape(-1, 3)
    except OverflowError as reason:
        raise BadMesh(f"{name}: a face names a vertex that cannot be there; export it again") from reason
    return triangles, sum(len(face) > 3 for face in corners)
