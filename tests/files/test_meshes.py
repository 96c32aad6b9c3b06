"""Mesh files are read the same from every format, and written whole, exact and repeatable."""

import hashlib
from pathlib import Path

import mesh_bytes as files
import numpy as np
import pytest
import trimesh

from firstbake.errors import BadMesh, BadOutput
from firstbake.files.meshes import read_surface, write_3mf, write_ply, write_stl
from firstbake.mesh import Surface

POINTS, FACES = files.egg()
EGG = Surface(POINTS, FACES)
QUADS = [[0, 1, 2], *([int(v) for v in (a[0], a[1], a[2], b[2])] for a, b in [(FACES[24], FACES[48])])]

GOOD = {
    "binary.stl": files.binary_stl(POINTS, FACES),
    "ascii.stl": files.ascii_stl(POINTS, FACES),
    "crlf.stl": files.ascii_stl(POINTS, FACES).replace(b"\n", b"\r\n"),
    "two.stl": files.ascii_stl(POINTS, FACES[:200]) + files.ascii_stl(POINTS, FACES[200:]),
    "begins_solid.stl": b"solid" + files.binary_stl(POINTS, FACES)[5:],
    "UPPER.STL": files.binary_stl(POINTS, FACES),
    "ascii.ply": files.ascii_ply(POINTS, FACES),
    "little.ply": files.binary_ply(POINTS, FACES),
    "big.ply": files.binary_ply(POINTS, FACES, order=">"),
    "plain.obj": files.obj(POINTS, FACES),
    "textured.obj": files.obj(POINTS, FACES, corner="{0}/1/1"),
    "package.3mf": files.three_mf(POINTS, FACES),
    "moved.3mf": files.three_mf(POINTS, FACES, item='transform="1 0 0 0 1 0 0 0 1 5 6 7"'),
    "mirrored.3mf": files.three_mf(POINTS, FACES, item='transform="-1 0 0 0 1 0 0 0 1 0 0 0"'),
}


@pytest.mark.parametrize("name", GOOD)
def test_every_format_gives_the_same_surface(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(GOOD[name])
    found = read_surface(path, unit=None, role="contour")
    assert found.surface.is_closed
    assert len(found.surface.faces) == len(FACES)
    assert found.surface.volume_mm3 == pytest.approx(EGG.volume_mm3, rel=1e-5)
    assert found.repairs == ()
    assert found.unit == "mm"
    assert found.unit_from == ("file" if name.endswith("3mf") else "size")
    assert found.digest == hashlib.sha256(GOOD[name]).hexdigest()
    if name.endswith(("ply", "obj")):
        assert np.allclose(found.surface.vertices_mm, POINTS, atol=1e-6)
        assert (found.surface.faces == FACES).all()


def test_polygons_are_cut_and_that_is_said(tmp_path: Path) -> None:
    box = np.array([[x, y, z] for x in (0, 8.0) for y in (0, 7.0) for z in (0, 9.0)])
    sides = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
    path = tmp_path / "box.ply"
    path.write_bytes(files.binary_ply(box, sides))
    found = read_surface(path, role="core")
    assert found.surface.volume_mm3 == pytest.approx(504)
    assert [repair.count for repair in found.repairs] == [6]
    assert "cut into triangles" in found.repairs[0].sentence


@pytest.mark.parametrize(
    ("scale", "given", "unit"), [(1, None, "mm"), (1e-3, None, "m"), (1000, None, "um"), (0.1, "cm", "cm")]
)
def test_the_unit_is_found_or_taken_and_the_size_is_right(
    tmp_path: Path, scale: float, given: str | None, unit: str
) -> None:
    path = tmp_path / "egg.ply"
    path.write_bytes(files.binary_ply(POINTS * scale, FACES))
    found = read_surface(path, unit=given, role="contour")
    assert found.unit == unit
    assert found.unit_from == ("given" if given else "size")
    assert found.surface.volume_mm3 == pytest.approx(EGG.volume_mm3, rel=1e-9)


def test_a_3mf_states_its_unit(tmp_path: Path) -> None:
    path = tmp_path / "egg.3mf"
    path.write_bytes(files.three_mf(POINTS / 10, FACES, unit="centimeter"))
    found = read_surface(path, role="contour")
    assert (found.unit, found.unit_from) == ("cm", "file")
    assert found.surface.volume_mm3 == pytest.approx(EGG.volume_mm3, rel=1e-6)


def test_dirt_is_healed_and_said(tmp_path: Path) -> None:
    faces = FACES.copy()
    flipped = np.random.default_rng(2).random(len(faces)) < 0.3
    faces[flipped] = faces[flipped][:, ::-1]
    path = tmp_path / "dirty.stl"
    path.write_bytes(files.binary_stl(POINTS, np.vstack([faces, faces[:50]])))
    found = read_surface(path, role="contour")
    assert found.surface.volume_mm3 == pytest.approx(EGG.volume_mm3, rel=1e-6)
    assert [repair.count for repair in found.repairs] == [50, int(flipped.sum())]


def test_ply_keeps_vertices_exactly_and_carries_maps(tmp_path: Path) -> None:
    path = tmp_path / "green.ply"
    thickness = np.linspace(0.3, 2.0, len(POINTS))
    thickness[3] = np.nan
    write_ply(path, EGG, fields={"thickness_mm": thickness})
    found = read_surface(path, role="contour")
    assert (found.surface.vertices_mm == EGG.vertices_mm).all()
    assert (found.surface.faces == EGG.faces).all()
    other = trimesh.load(path, process=False)  # an independent reader
    raw = other.metadata["_ply_raw"]["vertex"]["data"]["thickness_mm"]
    assert np.allclose(np.asarray(raw).ravel(), thickness, rtol=1e-6, equal_nan=True)


@pytest.mark.parametrize(
    ("writer", "name", "off_mm"), [(write_stl, "a.stl", 1e-6), (write_3mf, "a.3mf", 6e-7)]
)
def test_an_independent_reader_finds_what_was_written(
    tmp_path: Path, writer, name: str, off_mm: float
) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / name
    writer(path, EGG, fields=None)
    other = trimesh.load(path, process=False, force="mesh")
    corners = np.asarray(other.vertices)[np.asarray(other.faces)]
    assert np.abs(corners - POINTS[FACES]).max() < off_mm
    assert read_surface(path, role="contour").surface.is_closed


@pytest.mark.parametrize(
    ("writer", "name"), [(write_stl, "a.stl"), (write_3mf, "a.3mf"), (write_ply, "a.ply")]
)
def test_writing_twice_gives_the_same_bytes_and_nothing_else_in_the_folder(
    tmp_path: Path, writer, name: str
) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / name
    writer(path, EGG)
    first = path.read_bytes()
    writer(path, EGG)
    assert path.read_bytes() == first
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_a_failed_write_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(BadOutput, match="cannot be written"):
        write_stl(tmp_path / "no" / "such" / "a.stl", EGG)
    (tmp_path / "old.stl").write_bytes(b"old")

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(BadOutput, match="No space left"):
        write_stl(tmp_path / "old.stl", EGG)
    assert [p.name for p in tmp_path.iterdir()] == ["old.stl"]
    assert (tmp_path / "old.stl").read_bytes() == b"old"


@pytest.mark.parametrize(
    ("writer", "fields", "words"),
    [
        (write_stl, {"a": np.zeros(3)}, "no place for maps"),
        (write_3mf, {"a": np.zeros(3)}, "no place for maps"),
        (write_ply, {"a": np.zeros(3)}, "has shape"),
        (write_ply, {"a b": np.zeros(len(POINTS))}, "cannot name a map"),
    ],
)
def test_maps_that_cannot_be_written_are_refused(tmp_path: Path, writer, fields, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadOutput, match=words):
        writer(tmp_path / "a.out", EGG, fields=fields)
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_role_or_unit_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "egg.stl"
    path.write_bytes(GOOD["binary.stl"])
    with pytest.raises(BadMesh, match="role"):
        read_surface(path, role="veneer")
    with pytest.raises(BadMesh, match="not a unit"):
        read_surface(path, unit="furlong", role="core")
