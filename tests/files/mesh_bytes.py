"""Mesh files as bytes, written by these tests and by nobody else."""

import io
import struct
import zipfile

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Faces = NDArray[np.int64]


def egg(size_mm: float = 10.0, rows: int = 12) -> tuple[Points, Faces]:
    """A closed egg, about as large as a crown."""
    t = np.linspace(0, np.pi, rows + 1)[1:-1]
    u = 2 * np.pi * np.arange(2 * rows) / (2 * rows)
    rings = [
        np.column_stack(
            [0.4 * np.sin(a) * np.cos(u), 0.35 * np.sin(a) * np.sin(u), np.full(len(u), 0.5 * np.cos(a))]
        )
        for a in t
    ]
    points = np.vstack([[[0, 0, 0.5]], *rings, [[0, 0, -0.5]]])
    n, k = len(u), np.arange(len(u))
    after, last = (k + 1) % n, len(points) - 1
    faces = [np.column_stack([np.zeros(n, int), 1 + k, 1 + after])]
    for row in range(len(rings) - 1):
        a, b = 1 + row * n + k, 1 + row * n + after
        faces += [np.column_stack([a, a + n, b + n]), np.column_stack([a, b + n, b])]
    low = 1 + (len(rings) - 1) * n
    faces.append(np.column_stack([low + k, np.full(n, last), low + after]))
    return size_mm * points, np.vstack(faces)


def binary_stl(points: Points, faces: Faces, *, count: int | None = None) -> bytes:
    rows = np.zeros(len(faces), dtype=[("n", "<f4", 3), ("c", "<f4", (3, 3)), ("s", "<u2")])
    rows["c"] = points[faces]
    return (
        b"made by a test".ljust(80, b" ")
        + struct.pack("<I", len(faces) if count is None else count)
        + rows.tobytes()
    )


def ascii_stl(points: Points, faces: Faces, *, word: str = "{:.6f}") -> bytes:
    lines = ["solid egg"]
    for face in faces:
        lines.append(" facet normal 0 0 0\n  outer loop")
        lines += ["   vertex " + " ".join(word.format(x) for x in points[corner]) for corner in face]
        lines.append("  endloop\n endfacet")
    return ("\n".join(lines) + "\nendsolid egg\n").encode()


def ascii_ply(
    points: Points, faces: Faces, *, vertices: int | None = None, count: int | None = None
) -> bytes:
    head = (
        "ply\nformat ascii 1.0\ncomment a test\n"
        f"element vertex {len(points) if vertices is None else vertices}\n"
        "property float x\nproperty float y\nproperty float z\nproperty uchar red\n"
        f"element face {len(faces) if count is None else count}\n"
        "property list uchar int vertex_indices\nend_header\n"
    )
    body = [" ".join(f"{x:.9g}" for x in p) + " 7" for p in points] + [f"3 {a} {b} {c}" for a, b, c in faces]
    return (head + "\n".join(body) + "\n").encode()


def binary_ply(points: Points, faces: list[list[int]] | Faces, *, order: str = "<") -> bytes:
    kind = "binary_little_endian" if order == "<" else "binary_big_endian"
    head = (
        f"ply\nformat {kind} 1.0\nelement vertex {len(points)}\nproperty double x\nproperty double y\n"
        f"property double z\nelement face {len(faces)}\nproperty list uchar int vertex_indices\n"
        "property uchar flag\nend_header\n"
    )
    body = b"".join(struct.pack(f"{order}B{len(f)}iB", len(f), *map(int, f), 1) for f in faces)
    return head.encode() + points.astype(order + "f8").tobytes() + body


def obj(points: Points, faces: Faces, *, corner: str = "{0}") -> bytes:
    lines = ["# a test", *("v " + " ".join(f"{x:.9g}" for x in p) for p in points), "vt 0 0", "vn 0 0 1"]
    lines += ["f " + " ".join(corner.format(k + 1) for k in face) for face in faces]
    return ("\n".join(lines) + "\n").encode()


def three_mf(
    points: Points, faces: Faces, *, unit: str = "millimeter", item: str = "", extra: str = ""
) -> bytes:
    corners = "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in points)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces)
    model = (
        f'<?xml version="1.0"?>{extra}<model unit="{unit}" '
        'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1"><mesh>'
        f"<vertices>{corners}</vertices><triangles>{triangles}</triangles></mesh></object></resources>"
        f'<build><item objectid="1" {item}/></build></model>'
    )
    return zipped({"3D/3dmodel.model": model})


def zipped(parts: dict[str, str], encoding: str = "utf-8") -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in parts.items():
            package.writestr(name, text.encode(encoding))
    return packed.getvalue()
