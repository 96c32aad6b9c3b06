"""What a mesh file holds before repair, and the limits that keep a bad file from doing harm."""

import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh

MOST_TRIANGLES = 2_000_000  # a scan of one tooth has 20,000 to 300,000; chosen here
MOST_BYTES = 250_000_000  # 1.4 million triangles of ASCII STL, which take 3 GB of memory to parse
LONGEST_NUMBER = 100  # characters
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


@contextmanager
def guarded(name: str, kind: str) -> Iterator[None]:
    """Turns whatever a parser raises inside into one sentence.

    NumPy before 2.3 only warns when text is no number; that warning, and one of a value that does not fit
    its type, count as errors too. What trimesh would log is kept from the terminal.

    raises : BadMesh
    """
    from trimesh.util import log

    quiet, log.disabled = log.disabled, True
    with warnings.catch_warnings():
        warnings.filterwarnings("error", message="string or file could not be read")
        warnings.simplefilter("error", RuntimeWarning)
        try:
            yield
        except BadMesh:
            raise
        except Exception as reason:
            words = " ".join(str(reason).split())[:100] or type(reason).__name__
            raise BadMesh(
                f"{name} cannot be read as {kind}: it is damaged or cut short, or holds something that is "
                f"not a number ({words}); export it again"
            ) from reason
        finally:
            log.disabled = quiet


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
