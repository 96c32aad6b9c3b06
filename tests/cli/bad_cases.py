"""Kinds of bad input: each makes a sound case folder bad in one way and says what the sentence must tell."""

import struct
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from firstbake.files import read_surface, write_stl
from firstbake.mesh import Surface


@dataclass(frozen=True)
class Bad:
    """One kind of bad input.

    spoil : changes the folder      told : words the one sentence must hold
    case  : name of the case file to plan
    """

    name: str
    spoil: Callable[[Path], object]
    told: tuple[str, ...]
    case: str = "case.toml"


def edited(old: str, new: str) -> Callable[[Path], object]:
    """Replace text in case.toml; the text must be there."""

    def spoil(folder: Path) -> None:
        text = (folder / "case.toml").read_text("utf-8")
        assert old in text
        (folder / "case.toml").write_text(text.replace(old, new, 1), "utf-8")

    return spoil


def holding(name: str, data: bytes) -> Callable[[Path], object]:
    """Write these bytes as the file of that name."""
    return lambda folder: (folder / name).write_bytes(data)


def changed_core(change: Callable[[np.ndarray], np.ndarray]) -> Callable[[Path], object]:
    """Write the core with its vertices changed."""

    def spoil(folder: Path) -> None:
        core = read_surface(folder / "core.stl", unit="mm", role="core").surface
        write_stl(folder / "core.stl", Surface(change(core.vertices_mm.copy()), core.faces))

    return spoil


def swapped(folder: Path) -> None:
    """Core and contour exchanged."""
    text = (folder / "case.toml").read_text("utf-8")
    text = (
        text.replace('"core.stl"', '"x"')
        .replace('"contour.ply"', '"core.stl"')
        .replace('"x"', '"contour.ply"')
    )
    (folder / "case.toml").write_text(text, "utf-8")


def folder_for_mesh(folder: Path) -> None:
    """A folder where the core's file should be."""
    (folder / "core.stl").unlink()
    (folder / "core.stl").mkdir()


def truncated(folder: Path) -> None:
    """The core's file cut in half."""
    data = (folder / "core.stl").read_bytes()
    (folder / "core.stl").write_bytes(data[: len(data) // 2])


def nan_core(folder: Path) -> None:
    """One coordinate of the core not a number."""
    data = bytearray((folder / "core.stl").read_bytes())
    data[84 + 12 : 84 + 16] = struct.pack("<f", float("nan"))
    (folder / "core.stl").write_bytes(bytes(data))


POINTS_PLY = (
    b"ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
    b"end_header\n0 0 0\n8 0 0\n0 8 9\n"
)
BIG_STL = b"\0" * 80 + struct.pack("<I", 5_000_000)
LYING_STL = b"\0" * 80 + struct.pack("<I", 12) + b"\0" * 50
RANDOM = np.random.default_rng(7).integers(0, 256, 5000, dtype=np.uint8).tobytes()

BAD = [
    Bad("no case file", lambda f: None, ("does not exist",), case="absent.toml"),
    Bad("a folder as the case", lambda f: None, ("is a folder",), case="."),
    Bad("an empty folder as the case", lambda f: (f / "empty").mkdir(), ("is a folder",), case="empty"),
    Bad("an empty case file", holding("case.toml", b""), ("missing",)),
    Bad("a binary case file", holding("case.toml", RANDOM), ("not text",)),
    Bad("broken TOML", holding("case.toml", b"[case\ncode=1"), ("not valid TOML",)),
    Bad("unknown table", edited("[meshes]", "[mesh]"), ('"mesh"', 'did you mean "meshes"')),
    Bad("unknown key", edited("contour =", "countour ="), ("countour", 'did you mean "contour"')),
    Bad("missing key", edited('contour = "contour.ply"', ""), ("meshes.contour", "missing")),
    Bad("missing table", edited('[core]\nmaterial = "zirconia"', ""), ('"core"', "missing")),
    Bad("number for text", edited('tooth = "11"', "tooth = 11"), ("case.tooth", "text in quotes")),
    Bad("no such tooth", edited('tooth = "11"', 'tooth = "19"'), ("ISO 3950", "19")),
    Bad("empty code", edited('code = "TEST-1"', 'code = ""'), ("case.code", "empty")),
    Bad("two numbers for a colour", edited("[75.2, 1.3, 16.3]", "[75.2, 1.3]"), ("target.body",)),
    Bad("impossible lightness", edited("[75.2, 1.3, 16.3]", "[120.0, 1.3, 16.3]"), ("target.body", "100")),
    Bad("NaN colour", edited("[75.2, 1.3, 16.3]", "[nan, 1.3, 16.3]"), ("target.body",)),
    Bad("text for a number", edited("[75.2, 1.3, 16.3]", '["a", 1.3, 16.3]'), ("target.body", "number")),
    Bad("unknown powder", edited("demo-enamel-1", "demo-enamle-1"), ("demo-enamle-1", "demo-enamel-1")),
    Bad("absent card file", edited("demo-enamel-1", "cards/mine.toml"), ("mine.toml",)),
    Bad(
        "broken card",
        lambda f: (holding("c.toml", b"role = 3")(f), edited("demo-enamel-1", "c.toml")(f)),
        ("c.toml",),
    ),
    Bad("powder twice", edited("demo-enamel-1", "demo-dentine-1"), ("demo-dentine-1", "twice")),
    Bad("no dentine", edited("demo-dentine-1", "demo-liner-1"), ("dentine",)),
    Bad("unknown core", edited('"zirconia"', '"zirkonia"'), ("zirkonia", "zirconia")),
    Bad(
        "meshes and sizes",
        edited("[core]", "[sizes]\ncrown_height_mm=10\nmesiodistal_mm=8\nlabiopalatal_mm=7\n[core]"),
        ("not both",),
    ),
    Bad(
        "neither meshes nor sizes",
        edited('[meshes]\ncore = "core.stl"\ncontour = "contour.ply"', ""),
        ("neither",),
    ),
    Bad("waste over one", edited("[core]", "[allowances]\nslab_waste = 1.5\n[core]"), ("slab_waste", "1.5")),
    Bad("unknown unit", edited('core = "core.stl"', 'core = "core.stl"\nunit = "furlong"'), ("meshes.unit",)),
    Bad(
        "impossible size",
        edited(
            '[meshes]\ncore = "core.stl"\ncontour = "contour.ply"',
            "[sizes]\ncrown_height_mm = 90\nmesiodistal_mm = 8\nlabiopalatal_mm = 7",
        ),
        ("crown_height_mm", "90"),
    ),
    Bad("absent mesh", lambda f: (f / "core.stl").unlink(), ("core.stl",)),
    Bad("a folder as a mesh", folder_for_mesh, ("core.stl", "directory")),
    Bad("empty mesh file", holding("core.stl", b""), ("core.stl", "empty")),
    Bad("truncated mesh", truncated, ("core.stl",)),
    Bad("renamed picture", holding("core.stl", b"\x89PNG\r\n\x1a\n" + RANDOM), ("core.stl",)),
    Bad("binary garbage", holding("core.stl", RANDOM), ("core.stl",)),
    Bad("NaN in a mesh", nan_core, ("core.stl",)),
    Bad("a point cloud", holding("contour.ply", POINTS_PLY), ("contour.ply",)),
    Bad(
        "a scene file",
        lambda f: (holding("core.glb", b"glTF" + RANDOM)(f), edited("core.stl", "core.glb")(f)),
        ("core.glb",),
    ),
    Bad("5 million triangles", holding("core.stl", BIG_STL), ("core.stl",)),
    Bad("lying header", holding("core.stl", LYING_STL), ("core.stl",)),
    Bad("core in inches", changed_core(lambda v: v / 25.4), ("inch",)),
    Bad("a core of no tooth's size", changed_core(lambda v: v * 1e-7), ("core.stl",)),
    Bad("wrong unit stated", edited('core = "core.stl"', 'core = "core.stl"\nunit = "m"'), ("m",)),
    Bad("core out of the contour", changed_core(lambda v: v - np.array([0.0, 1.5, 0.0])), ("core", "mm")),
    Bad("core beside the contour", changed_core(lambda v: v + np.array([40.0, 0.0, 0.0])), ("core",)),
    Bad("core and contour exchanged", swapped, ("core",)),
    Bad(
        "landmark far away",
        edited("[core]", "[landmarks]\nincisal_mid = [900.0, 0.0, 0.0]\n[core]"),
        ("incisal_mid",),
    ),
]
