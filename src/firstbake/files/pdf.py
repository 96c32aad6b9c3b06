"""PDF of the bench sheet: A4, vector, the same bytes every time, no network."""

import json
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory

from firstbake.errors import BadSum
from firstbake.files.fonts import FACES, face_bytes
from firstbake.files.paper import Json, paper_of
from firstbake.files.pictures import Picture
from firstbake.sheet import Sheet


def sheet_pdf(sheet: Sheet, *, pictures: Sequence[Picture] = ()) -> bytes:
    """The bench sheet as PDF (PDF/UA-1: tagged, with alternative texts).

    The words travel as JSON beside the template, so nothing in them can act as markup.

    pictures : stills; those marked on_sheet are shown on the second page, in this order
    raises   : BadSum when the template cannot be set
    """
    import typst

    template = files("firstbake.files").joinpath("bench_sheet.typ").read_bytes()
    inside: dict[str, bytes] = {"sheet.typ": template, **{f"{face}.ttf": face_bytes(face) for face in FACES}}
    shown: list[Json] = []
    for row, picture in enumerate(p for p in pictures if p.on_sheet):
        inside[f"picture-{row}.png"] = picture.png
        shown.append({"file": f"picture-{row}.png", "alt": picture.words})
    data = json.dumps(paper_of(sheet, shown), ensure_ascii=False, allow_nan=False)
    with TemporaryDirectory() as folder:
        for name, content in inside.items():
            Path(folder, name).write_bytes(content)
        try:
            made: bytes = typst.compile(
                str(Path(folder, "sheet.typ")),
                root=folder,
                font_paths=[folder],
                ignore_system_fonts=True,
                sys_inputs={"data": data},
                pdf_standards=["ua-1"],
                timestamp=0,
            )
        except typst.TypstError as error:
            raise BadSum(f"the bench sheet could not be set: {error.message}") from error
    return made
