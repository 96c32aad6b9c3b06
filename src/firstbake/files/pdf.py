"""PDF of the bench sheet: A4, vector, the same bytes every time, no network."""

import json
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory

from firstbake.errors import BadSum
from firstbake.files.paper import Json, paper_of
from firstbake.files.pictures import Picture
from firstbake.sheet import Sheet

FACES = ("Regular", "It", "Semibold", "Bold")  # static TrueType faces of the font package (SIL OFL 1.1)


def sheet_pdf(sheet: Sheet, *, pictures: Sequence[Picture] = ()) -> bytes:
    """The bench sheet as PDF (PDF/UA-1: tagged, with alternative texts).

    The words travel as JSON beside the template, so nothing in them can act as markup.

    pictures : stills to show on the second page, in this order
    raises   : BadSum when the template cannot be set
    """
    import typst

    inside: dict[str, bytes] = {"main.typ": files("firstbake.files").joinpath("bench_sheet.typ").read_bytes()}
    shown: list[Json] = []
    for row, picture in enumerate(pictures):
        inside[f"picture-{row}.png"] = picture.png
        shown.append({"file": f"picture-{row}.png", "alt": picture.words})
    data = json.dumps(paper_of(sheet, shown), ensure_ascii=False, allow_nan=False)
    with TemporaryDirectory() as folder:
        for face in FACES:
            Path(folder, f"{face}.ttf").write_bytes(face_bytes(face))
        try:
            made: bytes = typst.compile(
                inside,
                font_paths=[folder],
                ignore_system_fonts=True,
                sys_inputs={"data": data},
                pdf_standards=["ua-1"],
                timestamp=0,
            )
        except typst.TypstError as error:
            raise BadSum(f"the bench sheet could not be set: {error.message}") from error
    return made


def face_bytes(face: str) -> bytes:
    """One face of the font package as the bytes of a TrueType file."""
    return files("font_source_sans_pro").joinpath("files", f"SourceSansPro-{face}.ttf").read_bytes()
