"""PDF of the bench sheet: A4, vector, the same bytes every time, no network."""

from collections.abc import Sequence
from importlib.resources import files

from firstbake.files.paper import Json, paper_of
from firstbake.files.pictures import Picture
from firstbake.files.typeset import typeset
from firstbake.sheet import Sheet


def sheet_pdf(sheet: Sheet, *, pictures: Sequence[Picture] = ()) -> bytes:
    """The bench sheet as PDF (PDF/UA-1: tagged, with alternative texts).

    The words travel as JSON beside the template, so nothing in them can act as markup.

    pictures : stills; those marked on_sheet are shown on the second page, in this order
    raises   : BadSum when the template cannot be set
    """
    template = files("firstbake.files").joinpath("bench_sheet.typ").read_bytes()
    inside: dict[str, bytes] = {"sheet.typ": template}
    shown: list[Json] = []
    for row, picture in enumerate(p for p in pictures if p.on_sheet):
        inside[f"picture-{row}.png"] = picture.png
        shown.append({"file": f"picture-{row}.png", "alt": picture.words})
    return typeset("sheet.typ", paper_of(sheet, shown), inside=inside)
