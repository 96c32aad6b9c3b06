"""Fonts: the faces of the one family that PDF and pictures use, from a package, never from the system."""

from functools import cache
from importlib.resources import files

FACES = ("Regular", "Semibold", "Bold")  # static TrueType faces, SIL Open Font License 1.1


@cache
def face_bytes(face: str) -> bytes:
    """One face of the font package as the bytes of a TrueType file."""
    return files("font_source_sans_pro").joinpath("files", f"SourceSansPro-{face}.ttf").read_bytes()
