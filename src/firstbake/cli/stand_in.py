"""firstbake stand-in: a core to plan with where none is made yet."""

import json as json_text
import sys
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from firstbake.cli.talk import say


def stand_in(
    contour: Path,
    /,
    *,
    tooth: Annotated[str, Parameter(help="ISO 3950 number of the tooth")],
    out: Annotated[Path, Parameter(help="STL file to write")],
    neighbour: Annotated[list[Path] | None, Parameter(help="a neighbouring tooth, once for each")] = None,
    height_mm: Annotated[float | None, Parameter(help="crown height, for a contour with its root")] = None,
    unit: Annotated[str | None, Parameter(help="unit of the files; else found from the size")] = None,
    json: Annotated[bool, Parameter(help="print what was made as JSON", negative="")] = False,
) -> None:
    """Make a core stand-in from a wanted contour alone: an inward offset with the usual room and a margin.

    Use it to see the room before a core is designed; it is no design of a core.

    Example: `firstbake stand-in tooth-11.stl --tooth 11 --out core.stl`

    Parameters
    ----------
    contour
        Mesh of the wanted contour, open at the margin or closed with its root.
    """
    from firstbake.files import write_stand_in

    made = write_stand_in(
        contour,
        tooth=tooth,
        out=out,
        neighbours=tuple(neighbour or ()),
        height_mm=height_mm,
        unit=unit,
    )
    if json:
        sys.stdout.write(json_text.dumps(made.document(), indent=2) + "\n")
        return
    say(f"A stand-in with room for {made.room_mm3:.0f} mm³ of porcelain; it is no design of a core.")
    for sentence in made.repairs:
        say(sentence)
    say(str(out))
