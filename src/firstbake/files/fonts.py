"""Fonts: the faces of the one family that PDF and pictures use, from a package, never from the system."""

from functools import cache
from importlib.resources import files
from pathlib import Path

FACES = ("Regular", "Semibold", "Bold")  # static TrueType faces, SIL Open Font License 1.1


@cache
def face_bytes(face: str) -> bytes:
    """One face of the font package as the bytes of a TrueType file."""
    return Path(face_file(face)).read_bytes()


def face_file(face: str) -> str:
    """The place of one face of the font package, for readers that want a file."""
    return str(files("font_source_sans_pro").joinpath("files", f"SourceSansPro-{face}.ttf"))
