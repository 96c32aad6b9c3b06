"""A colour card to print, and the card file that waits for its measured values."""

import json
from importlib.resources import files
from pathlib import Path

from firstbake.colour import srgb_from_lab
from firstbake.errors import BadOutput
from firstbake.files.output import write_whole
from firstbake.files.photo_pixels import mark_cells
from firstbake.files.typeset import typeset
from firstbake.target import PRINTED_PATCH_MM, PRINTED_SIZE_MM, printed_marks, printed_patches

_DICTIONARY = "4x4_50"
WARNING = (
    "A printed card must be measured before use: no printer puts down the colours it is asked for, so the "
    "values of this card are not known until every patch has been measured."
)
_STEPS = (
    "Print at 100 % on matt paper without brightener; let it dry for a day. The line above must be 50 mm.",
    "Cut along the frame and glue it flat on a stiff grey backing.",
    "Measure every patch (left to right, top row first: p01, p02, ...) over that backing, and write the "
    "values into the card file beside this PDF, or name a colour file in its values_file.",
    "Measure again every few months and whenever the card is soiled or faded. Keep it in the dark.",
    "In the mouth hold it beside the teeth in a clean clear sleeve; measure it through such a sleeve.",
)


def card_pdf() -> bytes:
    """The card as PDF, A4, the same bytes every time. raises : BadSum when it cannot be set"""
    data = {
        "title": "Colour card for photographs",
        "alt": "A card with four square corner marks and 24 patches",
        "size_mm": PRINTED_SIZE_MM,
        "scale": "50 mm",
        "steps": _STEPS,
        "warning": WARNING,
        "marks": [
            {
                "x_mm": mark.centre_mm[0],
                "y_mm": mark.centre_mm[1],
                "side_mm": mark.side_mm,
                "cells": mark_cells(mark.number, _DICTIONARY),
            }
            for mark in printed_marks()
        ],
        "patches": [
            {"x_mm": place[0], "y_mm": place[1], "side_mm": PRINTED_PATCH_MM, "srgb": _hex(lab)}
            for _, lab, place in printed_patches()
        ],
    }
    template = files("firstbake.files").joinpath("colour_card.typ").read_bytes()
    return typeset("card.typ", data, inside={"card.typ": template})


def _hex(lab: tuple[float, float, float]) -> str:
    return "#" + "".join(f"{round(255 * float(v)):02x}" for v in srgb_from_lab(lab))


def card_text(name: str) -> str:
    """The card file of a printed card: places, and no values until it is measured."""
    lines = [
        "# Places on the printed card in mm. Values (D65, 2 degrees) are not known until measured: write",
        "# lab = [L, a, b] into every patch, or name a colour file with readings p01, p02 in values_file.",
        f"name = {json.dumps(name)}",
        f'marks = "{_DICTIONARY}"',
        '# geometry = "45/0"          # how you measured it',
        '# values_file = "card.csv"',
    ]
    for mark in printed_marks():
        lines += ["[[mark]]", f"number = {mark.number}", f"centre_mm = {list(map(float, mark.centre_mm))}"]
        lines += [f"side_mm = {mark.side_mm}"]
    for patch, _, place in printed_patches():
        lines += [
            "[[patch]]",
            f'name = "{patch}"',
            f"centre_mm = {list(place)}",
            f"side_mm = {PRINTED_PATCH_MM}",
        ]
    return "\n".join(lines) + "\n"


def write_card(out: Path) -> tuple[Path, Path]:
    """Write the PDF, and the card file beside it. raises : BadOutput when one of them is there already"""
    beside = out.with_suffix(".toml")
    if out.suffix.lower() != ".pdf":
        raise BadOutput(f"{out} should end in .pdf; the card file goes beside it with .toml")
    for path in (out, beside):
        if path.exists():
            raise BadOutput(f"{path} is there already and may hold measured values; name another file")
    made = card_pdf()
    write_whole(beside, card_text(out.stem))
    try:
        write_whole(out, made)
    except BadOutput:
        beside.unlink(missing_ok=True)
        raise
    return out, beside
