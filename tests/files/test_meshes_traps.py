# ruff: noqa: E501
"""What a lenient parser reads without a word is read right, or refused in one sentence."""

import io
import time
import zipfile
from pathlib import Path

import mesh_bytes as files
import numpy as np
import pytest

from firstbake.errors import BadMesh
from firstbake.files.meshes import read_surface
from firstbake.mesh import Surface

POINTS, FACES = files.egg(rows=4)
EGG = Surface(POINTS, FACES)
SPACE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"


def lines(data: bytes, *changes: tuple[int, bytes]) -> bytes:
    """The text with some lines changed, counted from the end."""
    rows = data.splitlines()
    for at, row in changes:
        rows[at] = row
    return b"\n".join(rows) + b"\n"


def longer(row: bytes) -> bytes:
    return row + b" 1.0"


def shorter(row: bytes) -> bytes:
    return row.rsplit(b" ", 1)[0]


def assembly(parts: str, build: str) -> bytes:
    one = files.three_mf(POINTS, FACES)
    with zipfile.ZipFile(io.BytesIO(one)) as package:
        text = package.read("3D/3dmodel.model").decode()
    text = text.replace("</resources>", parts + "</resources>").replace('<item objectid="1" />', build)
    return files.zipped({"3D/3dmodel.model": text})


def textured_ply() -> bytes:
    """Texture coordinates differ from face to face, the vertices do not."""
    head = (
        f"ply\nformat ascii 1.0\ncomment TextureFile none.png\nelement vertex {len(POINTS)}\n"
        "property double x\nproperty double y\nproperty double z\nproperty float s\nproperty float t\n"
        f"element face {len(FACES)}\nproperty list uchar int vertex_index\n"
        "property list uchar float texcoord\nend_header\n"
    )
    rows = [" ".join(map(repr, map(float, p))) + " 0 1" for p in POINTS]
    rows += [f"3 {a} {b} {c} 6 0 0 0.{k} 0 0 0.{k}" for k, (a, b, c) in enumerate(FACES)]
    return (head + "\n".join(rows)).encode()


def edges_ply() -> bytes:
    """Two more elements behind the faces."""
    head, body = files.binary_ply(POINTS, FACES).split(b"end_header\n", 1)
    more = b"element edge 2\nproperty int vertex1\nproperty int vertex2\nelement empty 0\nproperty int a\n"
    return head + more + b"end_header\n" + body + np.arange(4, dtype="<i4").tobytes()


def obj_counted_back() -> bytes:
    """Each face names the three vertices written just before it, counted back from there."""
    rows = ["# a test", "mtllib none.mtl"]
    for k, face in enumerate(FACES):
        rows += [*("v " + " ".join(f"{x:.9g}" for x in POINTS[corner]) for corner in face)]
        rows += [f"usemtl m{k % 3}", "f -3/1 -2/2 -1/3"]
    return "\n".join(rows).encode()


ASCII_STL = files.ascii_stl(POINTS, FACES)
ASCII_PLY = files.ascii_ply(POINTS, FACES)
GOOD = {
    "solid named after a keyword": ("a.stl", ASCII_STL.replace(b"egg", b"my vertex normal endsolid")),
    "solid named in Latin-1": ("a.stl", ASCII_STL.replace(b"egg", b"\xe9tage")),
    "normals damaged": ("a.stl", ASCII_STL.replace(b"normal 0 0 0", b"normal 0 x ?")),
    "ends of lines of old computers": ("a.stl", ASCII_STL.replace(b"\n", b"\r")),
    "comment in Latin-1": ("a.ply", ASCII_PLY.replace(b"comment a test", b"comment format caf\xe9")),
    "comment before the format": ("a.ply", files.binary_ply(POINTS, FACES).replace(b"ply\n", b"ply\ncomment a\n")),
    "empty lines": ("a.ply", ASCII_PLY.replace(b"end_header\n", b"end_header\n\n").replace(b" 7\n", b" 7\n \n")),
    "texture in PLY": ("a.ply", textured_ply()),
    "edges in PLY": ("a.ply", edges_ply()),
    "texture seams in OBJ": ("a.obj", files.obj(POINTS, FACES, corner="{0}/{0}/1") + b"usemtl b\n"),
    "corners counted back in OBJ": ("a.obj", obj_counted_back()),
    "built from parts": (
        "a.3mf",
        assembly('<object id="2"><components><component objectid="1"/></components></object>', '<item objectid="2"/>'),
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", GOOD)
def test_what_a_parser_may_trip_over_is_read_right(
    tmp_path: Path, kind: str, caplog: pytest.LogCaptureFixture
) -> None:
    name, data = GOOD[kind]
    (tmp_path / name).write_bytes(data)
    found = read_surface(tmp_path / name, role="contour").surface
    assert found.is_closed
    assert found.volume_mm3 == pytest.approx(EGG.volume_mm3, rel=1e-5)
    if name.endswith("ply"):
        assert np.allclose(found.vertices_mm, POINTS, atol=1e-6)
        assert (found.faces == FACES).all()
    assert caplog.records == []  # without a handler they would go to the terminal


ROWS = ASCII_PLY.splitlines()
STL_ROWS = ASCII_STL.splitlines()
MIXED = [list(face) for face in FACES]
MIXED[0], MIXED[1], MIXED[2] = [0, 1, 2, 3], [0, 1, 2], [0, 1]  # as many bytes as three lists of three
TWICE = '<item objectid="1" partnumber="a"/><item objectid="1" partnumber="a"/>'
DOUBLED = "".join(
    f'<object id="{k}"><components>' + f'<component objectid="{k - 1}"/>' * 4 + "</components></object>"
    for k in range(2, 9)
)
BAD = {
    "face cut short in PLY": ("a.ply", lines(ASCII_PLY, (-1, shorter(ROWS[-1]))), "'face' has 3 numbers"),
    "face with another length in PLY": ("a.ply", lines(ASCII_PLY, (-1, b"2" + ROWS[-1][1:])), "'face' has 4 numbers"),
    "numbers moved to the next line, PLY": (
        "a.ply", lines(ASCII_PLY, (-50, longer(ROWS[-50])), (-51, shorter(ROWS[-51]))), "'vertex' has 3 numbers",
    ),
    "numbers moved to the next line, STL": (
        "a.stl", lines(ASCII_STL, (-4, longer(STL_ROWS[-4])), (-5, shorter(STL_ROWS[-5]))), "three numbers",
    ),
    "facet outside its solid": ("a.stl", ASCII_STL.replace(b" facet", b"endsolid\n facet", 1), "precedes"),
    "thousands of solids": ("a.stl", b"solid\nendsolid\n" * 2000 + ASCII_STL, "more than 1000 solids"),
    "mixed polygons, binary PLY": ("a.ply", files.binary_ply(POINTS, MIXED), "as many corners in every face"),
    "bytes behind, binary PLY": ("a.ply", files.binary_ply(POINTS, FACES) + b"abc", "unexpected length"),
    "one property twice in PLY": ("a.ply", ASCII_PLY.replace(b"float y", b"float x"), "'property float x' is not"),
    "PLY stating a million vertices": ("a.ply", files.ascii_ply(POINTS, FACES, vertices=10**6), "cut short"),
    "binary PLY stating a million": (
        "a.ply", files.binary_ply(POINTS, FACES).replace(b"face 48", b"face 1000000"), "cut short",
    ),
    "3MF unpacking to 151 MB": ("a.3mf", files.zipped({"3D/3dmodel.model": " " * 151_000_000}), "too many to read"),
    "3MF of thousands of parts": ("a.3mf", files.zipped({f"{k}.model": "" for k in range(1001)}), "too many to read"),
    "3MF with two bodies of one name": ("a.3mf", assembly("", TWICE), "places 2 bodies, but 1"),
    "3MF placing what is not there": ("a.3mf", assembly("", '<item objectid="7"/>'), "'7'"),
    "3MF with an object of nothing": ("a.3mf", assembly('<object id="2"/>', '<item objectid="2"/>'), "neither one mesh"),
    "3MF multiplying itself": ("a.3mf", assembly(DOUBLED, '<item objectid="8"/>'), "places 16384 bodies"),
    "3MF with entities in UTF-16": (
        "a.3mf",
        files.zipped({"3D/3dmodel.model": f'<!DOCTYPE x [<!ENTITY a "b">]><model xmlns="{SPACE}"/>'}, "utf-16"),
        "entities",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", BAD)
def test_what_a_parser_may_let_pass_is_refused(
    tmp_path: Path, kind: str, caplog: pytest.LogCaptureFixture
) -> None:
    name, data, words = BAD[kind]
    (tmp_path / name).write_bytes(data)
    begun = time.perf_counter()
    with pytest.raises(BadMesh, match=words) as caught:
        read_surface(tmp_path / name, role="contour")
    assert time.perf_counter() - begun < 2
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 400
    assert caplog.records == []  # without a handler they would go to the terminal
