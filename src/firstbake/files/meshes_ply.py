"""PLY surfaces, ASCII and binary."""

from dataclasses import dataclass, field
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh
from firstbake.files.meshes_raw import MOST_TRIANGLES, RawMesh, check_count, fans

_TYPES = {
    "char": "i1", "int8": "i1", "uchar": "u1", "uint8": "u1", "short": "i2", "int16": "i2",
    "ushort": "u2", "uint16": "u2", "int": "i4", "int32": "i4", "uint": "u4", "uint32": "u4",
    "float": "f4", "float32": "f4", "double": "f8", "float64": "f8",
}  # fmt: skip
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_LONGEST_HEADER = 100_000  # bytes


@dataclass(frozen=True)
class _Property:
    name: str
    type: str
    count_type: str = ""  # of the length, for a list


@dataclass(frozen=True)
class _Element:
    name: str
    count: int
    properties: list[_Property] = field(default_factory=list)


@dataclass(frozen=True)
class PlyHeader:
    """Number order ("" for ASCII), elements in their order, and where the body begins."""

    order: str
    elements: tuple[_Element, ...]
    body: int

    def count(self, element: str) -> int:
        """How many of an element the header states; 0 when it is not there."""
        return sum(e.count for e in self.elements if e.name == element)


def read_ply_header(head: bytes, *, name: str) -> PlyHeader:
    """The header at the beginning of a PLY file.

    raises : BadMesh when it does not end, holds a word that is not known, or states too many triangles
    """
    end = head.find(b"end_header", 0, _LONGEST_HEADER)
    line_end = head.find(b"\n", end)
    if end < 0 or line_end < 0:
        raise BadMesh(f"{name}: the PLY header has no end (end_header is missing); export it again")
    order: str | None = None
    elements: list[_Element] = []
    for line in head[:end].decode("latin-1").replace("\r", "\n").split("\n")[1:]:
        match line.split():
            case [] | ["comment", *_] | ["obj_info", *_]:
                continue
            case ["format", kind, *_] if kind in _ORDERS:
                order = _ORDERS[kind]
            case ["element", element, count] if count.isdigit():
                elements.append(_Element(element, int(count)))
            case ["property", "list", length, of, prop] if elements and length in _TYPES and of in _TYPES:
                elements[-1].properties.append(_Property(prop, _TYPES[of], _TYPES[length]))
            case ["property", of, prop] if elements and of in _TYPES:
                elements[-1].properties.append(_Property(prop, _TYPES[of]))
            case _:
                raise BadMesh(
                    f"{name}: the PLY header line '{line.strip()[:60]}' is not understood; export it again"
                )
    if order is None:
        raise BadMesh(f"{name}: the PLY header does not state its format; export it again")
    header = PlyHeader(order, tuple(elements), line_end + 1)
    check_count(header.count("face"), name=name)
    if header.count("vertex") > 3 * MOST_TRIANGLES:
        raise BadMesh(
            f"{name}: the header states {header.count('vertex'):,} vertices, more than the "
            f"{3 * MOST_TRIANGLES:,} that can be used; check the file, or reduce the mesh and export it again"
        )
    return header


def read_ply(data: bytes, *, name: str) -> RawMesh:
    """Vertices in their order and faces; polygons are cut into triangles.

    raises : BadMesh when the body is shorter than the header states, or x, y, z are missing
    """
    header = read_ply_header(data[:_LONGEST_HEADER], name=name)
    body = _Words(data, header, name) if header.order == "" else _Bytes(data, header, name)
    vertices, faces, polygons = np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64), 0
    for element in header.elements:
        if element.name == "vertex":
            table = body.table(element)
            if not {"x", "y", "z"} <= table.keys():
                raise BadMesh(f"{name}: the vertices have no x, y and z; export it again")
            vertices = np.column_stack([table[k].astype(np.float64) for k in "xyz"])
        elif element.name == "face":
            faces, polygons = body.faces(element)
        elif element.count:
            break
    return RawMesh(vertices, faces, polygons)


def _too_short(name: str, element: _Element) -> BadMesh:
    return BadMesh(
        f"{name}: the header states {element.count:,} entries of '{element.name}', but the file ends before; "
        "it is cut short, so export it again"
    )


def _index_list(element: _Element, name: str) -> int:
    """Place of the list of corners among the properties of a face."""
    for place, prop in enumerate(element.properties):
        if prop.count_type and prop.name in ("vertex_indices", "vertex_index"):
            return place
    raise BadMesh(f"{name}: the faces have no list vertex_indices; export it again as triangles")


class _Bytes:
    """The body of a binary PLY, read from the front."""

    def __init__(self, data: bytes, header: PlyHeader, name: str) -> None:
        self._data, self._order, self._at, self._name = data, header.order, header.body, name

    def table(self, element: _Element) -> dict[str, NDArray[np.generic]]:
        if any(p.count_type for p in element.properties):
            raise BadMesh(
                f"{self._name}: vertices with lists are not understood; export it again without them"
            )
        kind = np.dtype([(p.name, self._order + p.type) for p in element.properties])
        if element.count * kind.itemsize > len(self._data) - self._at:
            raise _too_short(self._name, element)
        rows = np.frombuffer(self._data, dtype=kind, count=element.count, offset=self._at)
        self._at += element.count * kind.itemsize
        return {p.name: rows[p.name] for p in element.properties}

    def faces(self, element: _Element) -> tuple[NDArray[np.int64], int]:
        place = _index_list(element, self._name)
        lists = sum(bool(p.count_type) for p in element.properties)
        if element.count == 0:
            return np.zeros((0, 3), dtype=np.int64), 0
        if lists == 1:
            fast = self._all_triangles(element, place)
            if fast is not None:
                return fast, 0
        return fans(self._each(element, place), name=self._name)

    def _all_triangles(self, element: _Element, place: int) -> NDArray[np.int64] | None:
        fields: list[tuple[str, str] | tuple[str, str, int]] = []
        for k, prop in enumerate(element.properties):
            if k == place:
                fields += [("length", self._order + prop.count_type), ("corners", self._order + prop.type, 3)]
            else:
                fields.append((f"other{k}", self._order + prop.type))
        kind = np.dtype(fields)
        if element.count * kind.itemsize > len(self._data) - self._at:
            return None
        rows = np.frombuffer(self._data, dtype=kind, count=element.count, offset=self._at)
        if not (rows["length"] == 3).all():
            return None
        self._at += element.count * kind.itemsize
        return rows["corners"].astype(np.int64)

    def _each(self, element: _Element, place: int) -> list[list[int]]:
        found: list[list[int]] = []
        for _ in range(element.count):
            for k, prop in enumerate(element.properties):
                length = int(self._take(prop.count_type, 1, element)[0]) if prop.count_type else 1
                values = self._take(prop.type, length, element)
                if k == place:
                    found.append([int(v) for v in values])
        return found

    def _take(self, kind: str, count: int, element: _Element) -> NDArray[np.generic]:
        size = np.dtype(kind).itemsize * count
        if count < 0 or self._at + size > len(self._data):
            raise _too_short(self._name, element)
        values = np.frombuffer(self._data, dtype=self._order + kind, count=count, offset=self._at)
        self._at += size
        return values


class _Words:
    """The body of an ASCII PLY, one entry a line."""

    def __init__(self, data: bytes, header: PlyHeader, name: str) -> None:
        self._lines = [line for line in data[header.body :].splitlines() if line.strip()]
        self._at, self._name = 0, name

    def _rows(self, element: _Element) -> list[list[float]]:
        lines = self._lines[self._at : self._at + element.count]
        if len(lines) < element.count:
            raise _too_short(self._name, element)
        self._at += element.count
        try:
            return [[float(word) for word in line.split()] for line in lines]
        except ValueError as reason:
            raise BadMesh(
                f"{self._name}: an entry of '{element.name}' is not a number ({reason})"
            ) from reason

    def table(self, element: _Element) -> dict[str, NDArray[np.generic]]:
        rows, width = self._rows(element), len(element.properties)
        if any(p.count_type for p in element.properties) or any(len(row) < width for row in rows):
            raise BadMesh(f"{self._name}: an entry of '{element.name}' has too few numbers; export it again")
        values = np.array([row[:width] for row in rows], dtype=np.float64).reshape(-1, width)
        return {p.name: values[:, k] for k, p in enumerate(element.properties)}

    def faces(self, element: _Element) -> tuple[NDArray[np.int64], int]:
        place, found = _index_list(element, self._name), []
        for row in self._rows(element):
            if not all(map(isfinite, row)):
                raise BadMesh(f"{self._name}: a face names a vertex that is not a number; export it again")
            at = 0
            for k, prop in enumerate(element.properties):
                length = int(row[at]) if prop.count_type and at < len(row) else 1
                at += 1 if prop.count_type else 0
                if length < 0 or at + length > len(row):
                    raise _too_short(self._name, element)
                if k == place:
                    found.append([int(v) for v in row[at : at + length]])
                at += length
        return fans(found, name=self._name)
