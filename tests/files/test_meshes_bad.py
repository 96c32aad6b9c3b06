# ruff: noqa: E501
"""Every kind of bad mesh file gives one clear sentence, quickly."""

import struct
import time
from pathlib import Path

import mesh_bytes as files
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstbake.errors import BadMesh
from firstbake.files.meshes import read_surface

POINTS, FACES = files.egg()
STL = files.binary_stl(POINTS, FACES)
PLY = files.binary_ply(POINTS, FACES)
NOISE = np.random.default_rng(5).integers(0, 256, 30_000, dtype=np.uint8).tobytes()
ONE_NAN, FAR, ONE_PLACE = POINTS.copy(), POINTS.copy(), POINTS * 0 + 3
ONE_NAN[5, 1], FAR[5, 1] = np.nan, np.inf
PAIR = np.vstack([POINTS, POINTS + np.array([9.0, 0, 0])])
LOOP_3MF = files.zipped(
    {
        "3D/3dmodel.model": '<model xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources>'
        '<object id="1"><components><component objectid="1"/><component objectid="1"/></components></object>'
        '</resources><build><item objectid="1"/></build></model>'
    }
)

BAD = {
    "empty": ("a.stl", b"", "is empty"),
    "cut short, binary STL": ("a.stl", STL[:-777], "cut short"),
    "cut short, header only": ("a.stl", STL[:60], "something else or damaged"),
    "cut short, ASCII STL": ("a.stl", files.ascii_stl(POINTS, FACES)[:-300], "endsolid is missing"),
    "cut short, binary PLY": ("a.ply", PLY[:-500], "cut short"),
    "cut short, ASCII PLY": ("a.ply", files.ascii_ply(POINTS, FACES)[:-900], "cut short"),
    "cut short, PLY header": ("a.ply", PLY[:60], "no end"),
    "cut short, 3MF": ("a.3mf", files.three_mf(POINTS, FACES)[:-400], "damaged"),
    "cut short, OBJ": ("a.obj", files.obj(POINTS, FACES)[:-6], "too few numbers|export it again"),
    "PLY named STL": ("a.stl", PLY, "named as STL but holds PLY"),
    "STL named PLY": ("a.ply", STL, "named as PLY but holds STL"),
    "STL named OBJ": ("a.obj", files.ascii_stl(POINTS, FACES), "named as OBJ but holds STL"),
    "picture named STL": ("a.stl", b"\x89PNG\r\n\x1a\n" + NOISE, "is a picture"),
    "document named PLY": ("a.ply", b"%PDF-1.7\n" + NOISE, "is a PDF"),
    "web page named OBJ": ("a.obj", b"<!doctype html><html><body>not found</body></html>", "something else"),
    "archive named 3MF": ("a.3mf", files.zipped({"letter.txt": "hello"}), "without a 3MF model"),
    "garbage STL": ("a.stl", NOISE, "not an STL file|something else"),
    "garbage PLY": ("a.ply", NOISE, "something else or damaged"),
    "garbage 3MF": ("a.3mf", b"PK\x03\x04" + NOISE, "damaged"),
    "NaN in STL": ("a.stl", files.binary_stl(ONE_NAN, FACES), "not finite"),
    "NaN in PLY": ("a.ply", files.ascii_ply(ONE_NAN, FACES), "not finite"),
    "infinite in STL": ("a.stl", files.binary_stl(FAR, FACES), "not finite"),
    "words for numbers": ("a.stl", files.ascii_stl(POINTS, FACES, word="x{:.1f}"), "not a number"),
    "huge coordinates": ("a.ply", files.binary_ply(POINTS * 1e200, FACES), "no tooth has this size"),
    "point cloud PLY": ("a.ply", files.binary_ply(POINTS, FACES[:0]), "point cloud"),
    "point cloud OBJ": ("a.obj", files.obj(POINTS, FACES[:0]), "point cloud"),
    "point cloud text": ("a.xyz", b"1 2 3\n4 5 6\n", "are not read"),
    "no triangles": ("a.stl", files.binary_stl(POINTS, FACES[:0]), "no triangles"),
    "no area": ("a.ply", files.binary_ply(ONE_PLACE, FACES), "no face has an area"),
    "flat": ("a.ply", files.binary_ply(POINTS * [0, 0, 1], FACES), "no face has an area"),
    "PLY stating 5 million faces": ("a.ply", files.ascii_ply(POINTS, FACES, count=5_000_000), "5,000,000 triangles"),
    "PLY stating 10^12 vertices": ("a.ply", files.ascii_ply(POINTS, FACES, vertices=10**12), "1,000,000,000,000 vertices"),
    "PLY stating 10^12 faces": ("a.ply", files.ascii_ply(POINTS, FACES, count=10**12), "triangles are more"),
    "STL stating too many": ("a.stl", files.binary_stl(POINTS, FACES, count=len(FACES) + 1), "cut short"),
    "STL stating too few": ("a.stl", files.binary_stl(POINTS, FACES, count=10), "header states 10 triangles"),
    "STL stating 4 thousand million": ("a.stl", files.binary_stl(POINTS, FACES, count=2**32 - 1), "triangles"),
    "faces over missing vertices": ("a.ply", files.binary_ply(POINTS, FACES + 5), "names vertex"),
    "faces below zero": ("a.ply", files.binary_ply(POINTS, FACES - 1), "names vertex -1"),
    "OBJ vertex zero": ("a.obj", files.obj(POINTS, FACES - 1), "names vertex 0"),
    "viewer's scene": ("a.glb", b"glTF" + NOISE, "scene in a viewer's format"),
    "viewer's scene, text": ("a.gltf", b'{"asset": {"version": "2.0"}}', "export the single tooth as STL or PLY"),
    "viewer's scene named STL": ("a.stl", b"glTF" + NOISE, "scene in a viewer's format"),
    "as large as a house": ("a.stl", files.binary_stl(POINTS * 8, FACES), "no tooth has this size in any unit"),
    "inch or cm": ("a.stl", files.binary_stl(POINTS * 0.1, FACES), "unit is not clear"),
    "two teeth as one": ("a.stl", files.binary_stl(PAIR, np.vstack([FACES, FACES + len(POINTS)])), "several bodies"),
    "3MF with entities": ("a.3mf", files.three_mf(POINTS, FACES, extra='<!DOCTYPE x [<!ENTITY a "b">]>'), "entities"),
    "3MF in feet": ("a.3mf", files.three_mf(POINTS, FACES, unit="foot"), "unit 'foot'"),
    "no suffix": ("mesh", STL, "are not read"),
    "OBJ naming a vertex of 30 digits": ("a.obj", files.obj(POINTS, FACES) + b"f 1 2 " + b"9" * 30, "cannot be there"),
    "PLY face that is no number": ("a.ply", files.ascii_ply(POINTS, FACES)[:-4] + b" nan\n", "not a number"),
    "3MF with bytes missing": ("a.3mf", files.three_mf(POINTS, FACES)[:40] + files.three_mf(POINTS, FACES)[60:], "damaged"),
    "3MF naming itself": ("a.3mf", LOOP_3MF, "nest too deeply"),
    "number of 200 characters": ("a.stl", files.ascii_stl(POINTS, FACES, word="{:.200f}"), "characters"),
}  # fmt: skip


def one_sentence(path: Path, role: str = "contour") -> str:
    begun = time.perf_counter()
    with pytest.raises(BadMesh) as caught:
        read_surface(path, role=role)
    text = str(caught.value)
    assert time.perf_counter() - begun < 3
    assert 15 < len(text) < 400 and "\n" not in text and "Traceback" not in text
    assert path.name in text
    return text


@pytest.mark.parametrize("kind", BAD)
def test_bad_file_gives_one_clear_sentence(tmp_path: Path, kind: str) -> None:
    name, data, words = BAD[kind]
    (tmp_path / name).write_bytes(data)
    with pytest.raises(BadMesh, match=words):
        read_surface(tmp_path / name, role="contour")
    one_sentence(tmp_path / name)


def test_missing_file_and_directory(tmp_path: Path) -> None:
    assert "is not there" in one_sentence(tmp_path / "gone.stl")
    (tmp_path / "folder.stl").mkdir()
    assert "directory" in one_sentence(tmp_path / "folder.stl")


def test_five_million_triangles_are_refused_from_the_header(tmp_path: Path) -> None:
    path = tmp_path / "large.stl"
    with path.open("wb") as stream:
        stream.write(b" " * 80 + struct.pack("<I", 5_000_000))
        stream.truncate(84 + 50 * 5_000_000)  # a sparse file: nothing to read
    begun = time.perf_counter()
    assert "5,000,000 triangles" in one_sentence(path)
    assert time.perf_counter() - begun < 0.2


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(["stl", "ply", "obj", "3mf"])), st.data())
def test_damage_anywhere_is_read_or_refused_but_never_escapes(
    tmp_path_factory: pytest.TempPathFactory, suffix: str, data: st.DataObject
) -> None:
    points, faces = files.egg(rows=4)
    whole = {
        "stl": files.binary_stl(points, faces),
        "ply": files.binary_ply(points, faces),
        "obj": files.obj(points, faces),
        "3mf": files.three_mf(points, faces),
    }[suffix]
    broken = bytearray(whole)
    for _ in range(data.draw(st.integers(1, 6))):
        broken[data.draw(st.integers(0, len(broken) - 1))] = data.draw(st.integers(0, 255))
    broken = broken[: data.draw(st.integers(len(broken) // 2, len(broken)))]
    path = tmp_path_factory.mktemp("fuzz") / f"a.{suffix}"
    path.write_bytes(bytes(broken))
    try:
        found = read_surface(path, role="contour")
    except BadMesh as reason:
        assert "\n" not in str(reason)
    else:
        assert found.surface.area_mm2 > 0
