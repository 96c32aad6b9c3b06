"""STL triangles, ASCII and binary."""

import re

import numpy as np

from firstbake.errors import BadMesh
from firstbake.files.meshes_raw import RawMesh, check_count, numbers
from firstbake.mesh import Floats, identical

_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
_CORNER = re.compile(rb"vertex\s+(\S+)\s+(\S+)\s+(\S+)", re.IGNORECASE)
_PIECE = 4_000_000  # bytes of text taken at a time


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
    count = binary_stl_count(data)
    if len(data) != 84 + _RECORD.itemsize * count:
        raise BadMesh(
            f"{name}: the header states {count} triangles, which take {84 + 50 * count} bytes, but the file "
            f"has {len(data)}; it is cut short or not an STL file, so export it again"
        )
    check_count(count, name=name)
    if count == 0:
        raise BadMesh(f"{name}: the file holds no triangles; export it again")
    corners = np.frombuffer(data, dtype=_RECORD, count=count, offset=84)["corners"]
    return _joined(corners.reshape(-1, 3).astype(np.float64))


def read_ascii_stl(data: bytes, *, name: str) -> RawMesh:
    """The triangles of an ASCII STL (one or several solids), identical corners joined.

    raises : BadMesh when it is cut short, holds no triangles, or holds something that is no number
    """
    lower = data.lower()
    count = lower.count(b"endfacet")
    check_count(count, name=name)
    if not lower.rstrip().rpartition(b"\n")[2].strip().startswith(b"endsolid"):
        raise BadMesh(f"{name}: the STL text stops before its end (endsolid is missing); export it again")
    if count == 0:
        raise BadMesh(f"{name}: the file holds no triangles; export it again")
    pieces, start = [], 0
    while start < len(data):
        cut = lower.find(b"endfacet", start + _PIECE)
        end = len(data) if cut < 0 else cut
        found = _CORNER.findall(data, start, end)
        if found:
            pieces.append(numbers([word for corner in found for word in corner], name=name))
        start = end
    corners = np.concatenate(pieces).reshape(-1, 3) if pieces else np.zeros((0, 3))
    if len(corners) != 3 * count:
        raise BadMesh(
            f"{name}: {count} facets should have {3 * count} corners, but {len(corners)} were found; "
            "export it again"
        )
    return _joined(corners)


def _joined(corners: Floats) -> RawMesh:
    """The format repeats each vertex in every face: identical ones are one vertex, which is no repair."""
    first, number = identical(corners)
    return RawMesh(corners[first], number.reshape(-1, 3))
