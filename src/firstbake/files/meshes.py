"""Mesh files: read with every repair said, written whole or not at all."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from firstbake.errors import BadMesh
from firstbake.files.meshes_3mf import read_3mf
from firstbake.files.meshes_obj import is_obj, read_obj
from firstbake.files.meshes_ply import read_ply, read_ply_header
from firstbake.files.meshes_raw import MOST_BYTES, RawMesh, check_count, check_mesh
from firstbake.files.meshes_stl import binary_stl_count, is_ascii_stl, read_ascii_stl, read_binary_stl
from firstbake.files.meshes_write import write_3mf, write_ply, write_stl
from firstbake.mesh import (
    Floats,
    Ints,
    Repair,
    Surface,
    find_unit,
    heal,
    main_extent,
    scale_to_mm,
    unit_name,
    weld,
)

__all__ = ["ReadMesh", "read_surface", "write_3mf", "write_ply", "write_stl"]

_HEAD = 100_000  # bytes looked at before the rest is read
_SUFFIXES = {".stl": "STL", ".ply": "PLY", ".obj": "OBJ", ".3mf": "3MF"}
_SCENES = {".glb", ".gltf"}
_ROLES = {"core": False, "contour": False, "neighbour": True, "opposing": True}  # True: may be a row
_OTHERS = {
    b"%PDF": "a PDF document", b"\x89PNG": "a picture", b"\xff\xd8\xff": "a picture", b"GIF8": "a picture",
    b"\x1f\x8b": "a packed archive", b"7z\xbc\xaf": "a packed archive", b"Rar!": "a packed archive",
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class ReadMesh:
    """A surface read from a file.

    surface   : healed, mm                       repairs : what was put right, in order
    unit      : unit of the file: um, mm, cm, inch or m
    digest    : SHA-256 of the bytes of the file, hexadecimal
    unit_from : "given", "file" (3MF states it) or "size"
    """

    surface: Surface
    repairs: tuple[Repair, ...]
    unit: str
    digest: str
    unit_from: str = "size"


def read_surface(path: Path | str, *, unit: str | None = None, role: str) -> ReadMesh:
    """Read, check, scale to mm and heal one mesh file (STL, PLY, OBJ or 3MF).

    unit   : um, mm, cm, inch or m; None takes the one the file states, else the one that fits the size
    role   : "core" or "contour" (one body is kept), "neighbour" or "opposing" (several bodies are kept)
    raises : BadMesh when the file cannot be used, and why
    """
    path = Path(path)
    if role not in _ROLES:
        raise BadMesh(f"{path.name}: the role '{role}' is not known; use one of {', '.join(_ROLES)}")
    data = _read(path)
    raw = _parsed(data, path)
    check_mesh(raw, name=path.name)
    points, faces, _ = weld(raw.vertices, raw.faces)
    if not _has_area(points, faces):
        raise BadMesh(f"{path.name}: no face has an area, so there is no surface; export it again")
    stated = unit if unit is not None else raw.unit
    found = find_unit(main_extent(points, faces), unit=stated, row=_ROLES[role], name=path.name)
    surface, repairs = heal(scale_to_mm(raw.vertices, found), raw.faces, name=path.name, several=_ROLES[role])
    if raw.polygons:
        cut = f"{path.name}: {raw.polygons} faces with more than three corners were cut into triangles"
        repairs = (Repair(cut, raw.polygons), *repairs)
    source = "given" if unit is not None else "file" if raw.unit is not None else "size"
    return ReadMesh(surface, repairs, unit_name(found), hashlib.sha256(data).hexdigest(), source)


def _has_area(points: Floats, faces: Ints) -> bool:
    return Surface(points, faces).area_mm2 > 0


def _read(path: Path) -> bytes:
    """The bytes of a file that is there, not empty and not too large.

    The head is looked at first, so that a header that states too much is refused before the rest is read.
    """
    name = path.name
    try:
        if path.is_dir():
            raise BadMesh(f"{path} is a directory, not a mesh file; name the file in it")
        if not path.is_file():
            raise BadMesh(f"{path} is not there; check the name and the folder")
        size = path.stat().st_size
        with path.open("rb") as stream:
            head = stream.read(_HEAD)
            _check_head(head, size, path)
            return head + stream.read()
    except OSError as reason:
        raise BadMesh(f"{name} cannot be read: {reason.strerror or reason}") from reason
    except ValueError as reason:  # a null character in the path
        raise BadMesh(f"{name!r} is not a file name; check the name") from reason


def _check_head(head: bytes, size: int, path: Path) -> None:
    name, suffix = path.name, path.suffix.lower()
    if size == 0:
        raise BadMesh(f"{name} is empty; export it again")
    if suffix in _SCENES or head[:4] == b"glTF":
        raise BadMesh(
            f"{name} is a scene in a viewer's format, without a unit and often with several objects; "
            "export the single tooth as STL or PLY"
        )
    if suffix not in _SUFFIXES:
        raise BadMesh(
            f"{name}: files ending in '{suffix}' are not read; export the surface as STL, PLY, OBJ or 3MF"
        )
    kind = _kind(head, size)
    binary = kind == "STL" and size == 84 + 50 * binary_stl_count(head)
    if binary:
        check_count(binary_stl_count(head), name=name)
    if kind == "PLY":
        read_ply_header(head, size=size, name=name)
    if size > MOST_BYTES:
        raise BadMesh(
            f"{name} has {size:,} bytes, more than the {MOST_BYTES:,} that can be read; reduce the mesh first"
        )
    if kind is None and suffix == ".stl" and len(head) >= 84 and _looks_binary(head):
        return  # a binary STL whose length does not fit its header: the reader says so
    if kind is None:
        other = next((words for magic, words in _OTHERS.items() if head.startswith(magic)), None)
        raise BadMesh(
            f"{name} is {other}, not a mesh; export the surface as STL, PLY, OBJ or 3MF"
            if other
            else f"{name} does not hold a {_SUFFIXES[suffix]} mesh: its content is something else "
            "or damaged; export it again"
        )
    if kind != _SUFFIXES[suffix]:
        raise BadMesh(
            f"{name} is named as {_SUFFIXES[suffix]} but holds {kind}; give it the ending that fits"
        )


def _looks_binary(head: bytes) -> bool:
    return b"\0" in head and not any(head.startswith(magic) for magic in _OTHERS)


def _kind(head: bytes, size: int) -> str | None:
    """What the first bytes say a file is: STL, PLY, OBJ, 3MF, or None."""
    if head.startswith(b"PK\x03\x04"):
        return "3MF"
    if head.split(None, 1)[:1] == [b"ply"]:
        return "PLY"
    if len(head) >= 84 and size == 84 + 50 * binary_stl_count(head):
        return "STL"
    if is_ascii_stl(head):
        return "STL"
    return "OBJ" if is_obj(head) else None


def _parsed(data: bytes, path: Path) -> RawMesh:
    name = path.name
    match path.suffix.lower():
        case ".stl":
            fits = len(data) >= 84 and len(data) == 84 + 50 * binary_stl_count(data)
            ascii_text = not fits and is_ascii_stl(data[:_HEAD])
            return read_ascii_stl(data, name=name) if ascii_text else read_binary_stl(data, name=name)
        case ".ply":
            return read_ply(data, name=name)
        case ".obj":
            return read_obj(data, name=name)
    return read_3mf(data, name=name)
