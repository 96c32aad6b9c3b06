"""firstbake stand-in: a core where there is none yet."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter


def stand_in(
    contour: Path,
    /,
    *,
    tooth: Annotated[str, Parameter(help="ISO 3950 number")],
    out: Annotated[Path, Parameter(help="STL file to write")],
    json: Annotated[bool, Parameter(help="print what was made as JSON", negative="")] = False,
) -> None:
    """Not ready."""
