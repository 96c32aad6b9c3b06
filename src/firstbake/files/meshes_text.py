"""OBJ text and 3MF packages."""

import io
import lzma
import struct
import zipfile
import zlib
from collections.abc import Iterator
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh
from firstbake.files.meshes_raw import RawMesh, check_count, fans, numbers

_SPACE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
_UNITS = {"micron": "um", "millimeter": "mm", "centimeter": "cm", "inch": "inch", "meter": "m"}
_MOST_XML = 250_000_000  # bytes; 2 million triangles take about 150 MB
_ZIP_FAULTS = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, OSError, RuntimeError, ValueError,
    LookupError, ArithmeticError, AttributeError, MemoryError,
)  # fmt: skip  # what the archive reader raises on damaged packages, found by fuzzing
_MOST_BODIES = 1000  # chosen here
_Body = tuple[NDArray[np.float64], NDArray[np.int64]]


def is_obj(head: bytes) -> bool:
    """True when the first bytes of a file read like OBJ."""
    lines = [line.split() for line in head.splitlines()[:-1] or head.splitlines()]
    return b"\0" not in head and any(words[:1] in ([b"v"], [b"f"]) and len(words) >= 4 for words in lines)


def read_obj(data: bytes, *, name: str) -> RawMesh:
    """Vertices in their order and faces of an OBJ file; textures and normals are passed over.

    raises : BadMesh when a line does not hold what it should
    """
    words: list[bytes] = []
    corners: list[list[int]] = []
    count = 0
    for at, line in enumerate(data.splitlines(), 1):
        parts = line.split()
        if not parts or parts[0] not in (b"v", b"f"):
            continue
        if len(parts) < 4:
            raise BadMesh(f"{name}: line {at} has too few numbers; the file is damaged, so export it again")
        if parts[0] == b"v":
            words += parts[1:4]
            count += 1
            continue
        try:
            numbered = [int(part.split(b"/")[0]) for part in parts[1:]]
        except ValueError as reason:
            raise BadMesh(
                f"{name}: line {at} holds a corner that is not a number; export it again"
            ) from reason
        if 0 in numbered:
            raise BadMesh(f"{name}: line {at} names vertex 0, but OBJ counts from 1; export it again")
        corners.append([n - 1 if n > 0 else count + n for n in numbered])
    check_count(len(corners), name=name)
    faces, polygons = fans(corners, name=name)
    return RawMesh(numbers(words, name=name).reshape(-1, 3), faces, polygons)


def read_3mf(data: bytes, *, name: str) -> RawMesh:
    """All built objects of a 3MF package, in place, with the unit it states.

    raises : BadMesh when it is no 3MF package, is damaged or too large, or uses a unit that is not known
    """
    root = _model(data, name)
    unit = root.get("unit", "millimeter")
    if unit not in _UNITS:
        raise BadMesh(f"{name}: the unit '{unit}' is not understood; export it in millimeter")
    objects = {o.get("id", ""): o for o in root.iter(_SPACE + "object")}
    points, faces, count = [np.zeros((0, 3))], [np.zeros((0, 3), dtype=np.int64)], 0
    try:
        for item in root.iter(_SPACE + "item"):
            for body in _bodies(objects, item.get("objectid", ""), depth=0):
                body_points, body_faces = _moved(body, item.get("transform"))
                points.append(body_points)
                faces.append(body_faces + count)
                count += len(body_points)
                check_count(max(sum(map(len, faces)), count // 3), name=name)
                if len(points) > _MOST_BODIES:
                    raise ValueError(f"it places over {_MOST_BODIES} bodies")
    except (KeyError, ValueError, TypeError, OverflowError) as reason:
        raise BadMesh(f"{name}: an object in the package is damaged ({reason}); export it again") from reason
    return RawMesh(np.vstack(points), np.vstack(faces), unit=_UNITS[unit])


def _model(data: bytes, name: str) -> ElementTree.Element:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            inside = [i for i in package.infolist() if i.filename.lower().endswith(".model")]
            if not inside:
                raise BadMesh(
                    f"{name}: this is a zip archive without a 3MF model; export it again as 3MF, STL or PLY"
                )
            if inside[0].file_size > _MOST_XML:
                raise BadMesh(
                    f"{name}: the 3MF model unpacks to {inside[0].file_size:,} bytes, too many to read"
                )
            with package.open(inside[0]) as stream:
                text = stream.read(_MOST_XML + 1)
        if b"<!DOCTYPE" in text[:4096] or b"<!ENTITY" in text:
            raise BadMesh(f"{name}: the 3MF model defines entities, which no mesh needs; export it again")
        check_count(text.count(b"<triangle "), name=name)
        return ElementTree.fromstring(text)
    except _ZIP_FAULTS as reason:
        raise BadMesh(f"{name}: the 3MF package is damaged ({reason}); export it again") from reason
    except ElementTree.ParseError as reason:
        raise BadMesh(f"{name}: the 3MF model is not readable ({reason}); export it again") from reason


def _bodies(objects: dict[str, ElementTree.Element], key: str, *, depth: int) -> Iterator[_Body]:
    if depth > 8:
        raise ValueError("objects nest too deeply")
    entry = objects[key]
    mesh = entry.find(_SPACE + "mesh")
    if mesh is not None:
        corners = [[float(v.get(k, "nan")) for k in "xyz"] for v in mesh.iter(_SPACE + "vertex")]
        faces = [[int(t.get(k, "-1")) for k in ("v1", "v2", "v3")] for t in mesh.iter(_SPACE + "triangle")]
        points = np.array(corners, dtype=np.float64).reshape(-1, 3)
        yield points, np.array(faces, dtype=np.int64).reshape(-1, 3)
        return
    for part in entry.iter(_SPACE + "component"):
        for body in _bodies(objects, part.get("objectid", ""), depth=depth + 1):
            yield _moved(body, part.get("transform"))


def _moved(body: _Body, transform: str | None) -> _Body:
    """A body under a 3MF transform: twelve numbers, row vectors times a 4 × 3 matrix."""
    if not transform:
        return body
    matrix = np.array([float(word) for word in transform.split()]).reshape(4, 3)
    faces = body[1] if np.linalg.det(matrix[:3]) >= 0 else body[1][:, ::-1]
    return body[0] @ matrix[:3] + matrix[3], faces
