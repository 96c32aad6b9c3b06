"""PLY surfaces, ASCII and binary: the header is checked here, trimesh parses."""

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh
from firstbake.files.meshes_raw import MOST_TRIANGLES, RawMesh, check_count, fans, guarded

_BYTES = {
    "char": 1, "int8": 1, "uchar": 1, "uint8": 1, "short": 2, "int16": 2, "ushort": 2, "uint16": 2,
    "int": 4, "int32": 4, "uint": 4, "uint32": 4, "float": 4, "float32": 4, "double": 8, "float64": 8,
}  # fmt: skip
_FORMATS = ("ascii", "binary_little_endian", "binary_big_endian")
_LONGEST_HEADER = 100_000  # bytes
_CORNERS = ("vertex_indices", "vertex_index")


@dataclass(frozen=True)
class _Element:
    """An element and its properties: name -> bytes of the values, and bytes of the length for a list."""

    name: str
    count: int
    properties: dict[str, tuple[int, int]] = field(default_factory=dict)

    def least_bytes(self, *, ascii_text: bool) -> int:
        """The fewest bytes its entries take, with three corners in each face."""
        size = 0
        for name, (value, length) in self.properties.items():
            values = 1 if not length else 3 if name in _CORNERS else 0
            size += 2 * (values + bool(length)) if ascii_text else values * value + length
        return self.count * size


@dataclass(frozen=True)
class _Header:
    """Format, elements in their order, the header again without its comments, and where the body begins."""

    format: str
    elements: tuple[_Element, ...]
    text: bytes
    body: int

    def properties(self, element: str) -> dict[str, tuple[int, int]]:
        """Of an element; none when it is not there or has no entries."""
        return next((e.properties for e in self.elements if e.name == element and e.count), {})


def read_ply_header(head: bytes, *, size: int, name: str) -> _Header:
    """The header at the beginning of a PLY file of size bytes.

    raises : BadMesh when it does not end, holds a word that is not known, states too many triangles, or more
             than the file can hold
    """
    end = head.find(b"end_header", 0, _LONGEST_HEADER)
    line_end = head.find(b"\n", end)
    if end < 0 or line_end < 0:
        raise BadMesh(f"{name}: the PLY header has no end (end_header is missing); export it again")
    elements: list[_Element] = []
    formats: list[str] = []
    kept: list[str] = []
    for line in head[:end].decode("latin-1").replace("\r", "\n").split("\n")[1:]:
        words = line.split()
        if words and words[0] not in ("comment", "obj_info"):
            if not _understood(words, elements, formats):
                raise BadMesh(
                    f"{name}: the PLY header line '{line.strip()[:60]}' is not understood; export it again"
                )
            kept.append(" ".join(words))
    if len(formats) != 1:
        raise BadMesh(f"{name}: the PLY header does not state its format; export it again")
    # trimesh would make a drawing of an element named edge
    text = "\n".join(["ply", *kept, "end_header\n"]).replace("element edge ", "element edges ")
    header = _Header(formats[0], tuple(elements), text.encode("ascii", "replace"), line_end + 1)
    _check_counts(header, size, name)
    return header


def _understood(words: list[str], elements: list[_Element], formats: list[str]) -> bool:
    """Takes one line of a header; False when it is not understood."""
    match words:
        case ["format", kind, *_] if kind in _FORMATS and not elements:
            formats.append(kind)
        case ["element", name, count] if count.isdigit() and name not in [e.name for e in elements]:
            elements.append(_Element(name, int(count)))
        case ["property", *kinds, name] if elements and name not in elements[-1].properties:
            match kinds:
                case ["list", length, value] if length in _BYTES and value in _BYTES:
                    elements[-1].properties[name] = (_BYTES[value], _BYTES[length])
                case [value] if value in _BYTES:
                    elements[-1].properties[name] = (_BYTES[value], 0)
                case _:
                    return False
        case _:
            return False
    return True


def _check_counts(header: _Header, size: int, name: str) -> None:
    ascii_text = header.format == "ascii"
    room = size - header.body + ascii_text  # the last line may lack its end
    for element in header.elements:
        if element.name == "face":
            check_count(element.count, name=name)
        if element.count > 3 * MOST_TRIANGLES:
            words = "vertices" if element.name == "vertex" else f"entries of '{element.name}'"
            raise BadMesh(
                f"{name}: the header states {element.count:,} {words}, more than the {3 * MOST_TRIANGLES:,} "
                "that can be used; check the file, or reduce the mesh and export it again"
            )
    for element in header.elements:
        room -= element.least_bytes(ascii_text=ascii_text)
        if room < 0:
            raise _too_short(name, element)


def _too_short(name: str, element: _Element) -> BadMesh:
    return BadMesh(
        f"{name}: the header states {element.count:,} entries of '{element.name}', but the file ends before; "
        "it is cut short, so export it again"
    )


def read_ply(data: bytes, *, name: str) -> RawMesh:
    """Vertices in their order and faces; polygons are cut into triangles.

    raises : BadMesh when the body does not hold what the header states, x, y, z are missing, or a binary
             file mixes triangles with other polygons, which trimesh cannot read
    """
    from trimesh.exchange.ply import load_ply

    header = read_ply_header(data[:_LONGEST_HEADER], size=len(data), name=name)
    _check_properties(header, name)
    with guarded(name, "PLY (if it is binary, with as many corners in every face)"):
        body = data[header.body :]
        if header.format == "ascii":
            body = b"\n".join(_lines(body, header, name))
        found = load_ply(io.BytesIO(header.text + body), fix_texture=False, skip_materials=True)
        vertices = np.asarray(found.get("vertices", np.zeros((0, 3))), dtype=np.float64)
        faces, polygons = _faces(found["metadata"]["_ply_raw"].get("face", {}).get("data"), name)
        return RawMesh(vertices, faces, polygons)


def _check_properties(header: _Header, name: str) -> None:
    vertex, face = header.properties("vertex"), header.properties("face")
    if vertex and not {"x", "y", "z"} <= vertex.keys():
        raise BadMesh(f"{name}: the vertices have no x, y and z; export it again")
    if any(length for _, length in vertex.values()):
        raise BadMesh(f"{name}: vertices with lists are not understood; export it again without them")
    if face and not any(face.get(corners, (0, 0))[1] for corners in _CORNERS):
        raise BadMesh(f"{name}: the faces have no list vertex_indices; export it again as triangles")


def _lines(body: bytes, header: _Header, name: str) -> Iterator[bytes]:
    """The lines of an ASCII body, each with as many numbers as it should have, which trimesh does not ask."""
    lines = (line for line in body.splitlines() if line.strip())
    for element in header.elements:
        lists = any(length for _, length in element.properties.values())
        width = len(element.properties)
        for _ in range(element.count):
            line = next(lines, None)
            if line is None:
                raise _too_short(name, element)
            words = line.split()
            if len(words) != (_width(words, element) if lists else width):
                raise ValueError(f"an entry of '{element.name}' has {len(words)} numbers")
            yield line


def _width(words: list[bytes], element: _Element) -> int:
    at = 0
    for _, length in element.properties.values():
        at += 1 + (int(words[at]) if length else 0)
    return at


def _faces(data: Any, name: str) -> tuple[NDArray[np.int64], int]:
    """Triangles from what trimesh keeps of the faces as they stand in the file."""
    if data is None or len(data) == 0:
        return np.zeros((0, 3), dtype=np.int64), 0
    if isinstance(data, dict):  # from ASCII
        corners = next(data[key] for key in _CORNERS if key in data)
    else:
        for key in data.dtype.names:
            fields = data[key].dtype.names
            if fields and (data[key]["f0"] != data[key]["f0"][0]).any():
                raise ValueError("its faces have different numbers of corners")
        corners = next(data[key] for key in _CORNERS if key in data.dtype.names)["f1"]
    if corners.ndim == 2 and corners.shape[1] == 3:
        return corners.astype(np.int64), 0
    return fans([[int(corner) for corner in face] for face in corners], name=name)
