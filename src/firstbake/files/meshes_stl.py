"""STL triangles, ASCII and binary: checked here, parsed by trimesh."""

import io
import re

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh
from firstbake.files.meshes_raw import LONGEST_NUMBER, RawMesh, check_count, guarded
from firstbake.mesh import identical

_RECORD = 50  # bytes a triangle takes
_MOST_SOLIDS = 1000  # chosen here; trimesh needs the square of their number
_NAME = re.compile(rb"solid.*", re.IGNORECASE)
_CORNER = re.compile(
    rb"^[ \t]*vertex(?:[ \t]+\S{1,%d}){3}[ \t]*$" % LONGEST_NUMBER, re.IGNORECASE | re.MULTILINE
)


def is_ascii_stl(head: bytes) -> bool:
    """True when the first bytes of a file read like ASCII STL."""
    text = head.lstrip().lower()
    return text.startswith(b"solid") and (b"facet" in text or b"endsolid" in text) and b"\0" not in text


def binary_stl_count(head: bytes) -> int:
    """Triangles that a binary STL header states; head holds at least 84 bytes."""
    return int.from_bytes(head[80:84], "little")


def read_binary_stl(data: bytes, *, name: str) -> RawMesh:
    """The triangles of a binary STL, identical corners joined.

    raises : BadMesh when the stated count is over the limit or does not fit the size of the file
    """
    from trimesh.exchange.stl import load_stl_binary

    count = binary_stl_count(data)
    if len(data) != 84 + _RECORD * count:
        raise BadMesh(
            f"{name}: the header states {count} triangles, which take {84 + _RECORD * count} bytes, but the "
            f"file has {len(data)}; it is cut short or not an STL file, so export it again"
        )
    check_count(count, name=name)
    if count == 0:
        raise BadMesh(f"{name}: the file holds no triangles; export it again")
    with guarded(name, "STL"):
        return _joined(load_stl_binary(io.BytesIO(data))["vertices"])


def read_ascii_stl(data: bytes, *, name: str) -> RawMesh:
    """The triangles of an ASCII STL (one or several solids), identical corners joined.

    trimesh does not ask whether every facet is whole, and trips over names such as "vertex": the first is
    checked here; names are taken out.

    raises : BadMesh when it is cut short, holds no triangles, or holds something that is no number
    """
    from trimesh.exchange.stl import load_stl_ascii

    text = _NAME.sub(b"solid", data.replace(b"\r\n", b"\n").replace(b"\r", b"\n"))
    count = _check_text(text, name)
    with guarded(name, "STL"):
        found = load_stl_ascii(io.StringIO(text.decode("latin-1")))
        solids = found["geometry"].values() if "geometry" in found else [found]
        corners = np.concatenate([solid["vertices"] for solid in solids])
        if len(corners) != 3 * count:
            raise ValueError("a facet lies outside its solid")
        return _joined(corners)


def _check_text(text: bytes, name: str) -> int:
    """How many whole facets there are."""
    lower = text.lower()
    count = lower.count(b"endfacet")
    check_count(count, name=name)
    if not lower.rstrip().rpartition(b"\n")[2].strip().startswith(b"endsolid"):
        raise BadMesh(f"{name}: the STL text stops before its end (endsolid is missing); export it again")
    if count == 0:
        raise BadMesh(f"{name}: the file holds no triangles; export it again")
    if lower.count(b"endsolid") > _MOST_SOLIDS:
        raise BadMesh(f"{name}: it holds more than {_MOST_SOLIDS} solids; export the single tooth again")
    whole = sum(1 for _ in _CORNER.finditer(text))
    if not whole == lower.count(b"vertex") == 3 * count:
        raise BadMesh(
            f"{name}: {count} facets should have {3 * count} corners, each on its own line with three "
            f"numbers of at most {LONGEST_NUMBER} characters; some have not, so export it again"
        )
    return count


def _joined(corners: NDArray[np.floating]) -> RawMesh:
    """The format repeats each vertex in every face: identical ones are one vertex, which is no repair."""
    points = corners.astype(np.float64)
    first, number = identical(points)
    return RawMesh(points[first], number.reshape(-1, 3))
