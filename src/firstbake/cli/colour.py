"""firstbake colour: colours read from files and photographs."""

import json as json_text
import sys
from pathlib import Path
from typing import Annotated

from cyclopts import App, Parameter

from firstbake.cli.talk import say, say_json, say_table

colour = App(name="colour", help="Read target colours from instrument files and from photographs.")


@colour.command(name="read")
def read(
    file: Path,
    /,
    *,
    geometry: Annotated[
        str | None,
        Parameter(help="compare as 45/0, d/8 specular included or d/8 specular excluded"),
    ] = None,
    json: Annotated[bool, Parameter(help="print the colours as JSON", negative="")] = False,
) -> None:
    """Show what a colour file holds: CGATS.17 or ISO 28178 text, CxF3 or ISO 17972-1 XML, or CSV.

    Example: `firstbake colour read tooth.csv --geometry 45/0`

    Parameters
    ----------
    file
        Spectra or L\\*, a\\*, b\\*. In a case file name it as `body_file = "tooth.csv"` under `[target]`.
    """
    from firstbake.files import read_colours
    from firstbake.target import compared_as, target_lab

    rows, notes, documents = [], [], []
    for reading in read_colours(file):
        compared = None if geometry is None else compared_as(reading, geometry)
        lab = target_lab(reading) if compared is None else compared.lab
        told = reading.notes if compared is None else compared.reading.notes
        notes += [note for note in told if note not in notes]
        shown = (reading if compared is None else compared.reading).geometry
        rows.append((reading.name or "-", *(f"{v:.1f}" for v in lab), shown or "not said"))
        documents.append(
            {
                "name": reading.name,
                "lab": lab,
                "geometry": shown,
                "spectrum": reading.is_spectrum,
                "doubt_delta_e00": 0.0 if compared is None else compared.doubt_delta_e00,
                "backing": reading.backing,
                "contact": reading.contact,
                "thickness_mm": reading.thickness_mm,
                "aperture": reading.aperture,
                "instrument": reading.instrument,
                "date": reading.date,
                "averaging": reading.averaging,
                "notes": list(told),
                "sha256": reading.digest,
            }
        )
    if json:
        sys.stdout.write(json_text.dumps({"colours": documents}, indent=2) + "\n")
        return
    say_table("Colours, CIELAB, D65, 2°", ("", "L*", "a*", "b*", "geometry"), rows)
    for note in notes:
        say(f"Look here: {note}.")


@colour.command(name="photo")
def photo(
    photograph: Path,
    /,
    *,
    card: Annotated[Path, Parameter(help="card file with places and measured values of its patches")],
    zones: Annotated[Path | None, Parameter(help="TOML file of polygons in pixels")] = None,
    dried_minutes: Annotated[float | None, Parameter(help="minutes since the tooth was dried")] = None,
    out: Annotated[Path | None, Parameter(help="folder for the result")] = None,
    json: Annotated[bool, Parameter(help="print the result as JSON", negative="")] = False,
) -> None:
    """Colours of zones from a photograph of the tooth beside a measured colour card.

    Card and tooth in one plane, one even light from 45 degrees or crossed polarisers, no flash into the eyes.
    Teeth whiten as they dry: photograph before isolation. Nothing of the photograph's own data (place, time,
    names) goes into the result; cut the face away before you send a photograph to anyone.

    Example: `firstbake colour photo tooth.jpg --card card.toml --zones zones.toml --out tooth-colours`

    Parameters
    ----------
    photograph
        JPEG, PNG, or a raw file (with the extra `raw`).
    """
    from firstbake.errors import BadInput
    from firstbake.files import check_output, read_colour_photo, write_colour_photo

    if dried_minutes is not None and not 0 <= dried_minutes < 1e4:
        raise BadInput(f"--dried-minutes should be 0 or more, got {dried_minutes:g}")
    if out is not None:
        check_output(out)
    made = read_colour_photo(photograph, card, zones_file=zones, dried_minutes=dried_minutes)
    written = () if out is None else write_colour_photo(made, out)
    document = made.document
    if json:
        say_json(document)
        return
    say(
        f"Card {document.card} found; {len(document.patches)} patches agree to "
        f"{document.error_delta_e00:.1f} ΔE00, each predicted from the others."
    )
    for name, why in document.left_out.items():
        say(f"Look here: patch {name} was not used ({why}).")
    for note in document.notes:
        say(f"Look here: {note}.")
    say_table(
        "Zones, CIELAB, D65, 2°",
        ("", "L*", "a*", "b*", "± ΔE00"),
        [(z.name, *(f"{v:.1f}" for v in z.lab), f"{z.doubt_delta_e00:.1f}") for z in document.zones],
    )
    for path in written:
        say(str(path))


@colour.command(name="card")
def card(*, out: Annotated[Path, Parameter(help="the PDF to write; a card file goes beside it")]) -> None:
    """A colour card to print, with a card file for its measured values.

    Example: `firstbake colour card --out card.pdf`
    """
    from firstbake.files import write_card

    for path in write_card(out):
        say(str(path))
    say("Look here: measure every patch of the printed card before use; until then its values are not known.")
