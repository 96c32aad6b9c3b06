"""The printed sheet: how to make and measure tabs. A4, both sides."""

from importlib.resources import files
from pathlib import Path

from firstbake.errors import BadOutput
from firstbake.files.output import write_whole
from firstbake.files.typeset import typeset
from firstbake.tabs import ADVISED_MM, BEST_TP

EXAMPLE = """powder;my-dentine
role;dentine
geometry;45/0
instrument;bench spectrophotometer
aperture mm;4
date;2026-03-01
unit;percent
what;black tile;white tile;tab;tab;tab;tab
thickness mm;;;0,52;0,52;1,01;1,01
backing;;;black;white;black;white
contact;optical contact
400;3,1;84,9;24,6;31,5;27,6;28,9
410;3,1;85,6;26,4;35,8;30,0;32,5
"""


def tab_sheet_pdf() -> bytes:
    """The instruction sheet as PDF. raises : BadSum when it cannot be set"""
    template = files("firstbake.files").joinpath("tab_sheet.typ").read_bytes()
    data = {
        "title": "Tabs to measure a powder",
        "rows": [
            {"role": role, "thin": f"{thin:.2f}", "thick": f"{thick:.2f}"}
            for role, (thin, thick) in ADVISED_MM.items()
        ],
        "least": f"{BEST_TP[0]:g}",
        "most": f"{BEST_TP[1]:g}",
        "example": [line.split(";") for line in EXAMPLE.splitlines()],
    }
    return typeset("tabs.typ", data, inside={"tabs.typ": template})


def write_tab_sheet(out: Path) -> None:
    """Write the instruction sheet. raises : BadOutput when the place can't be written to"""
    made = tab_sheet_pdf()
    if out.is_dir():
        raise BadOutput(f"{out} is a folder; name a file, for example {out / 'tabs.pdf'}")
    write_whole(out, made)
