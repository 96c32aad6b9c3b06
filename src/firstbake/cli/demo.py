"""firstbake demo: an invented case, written and planned."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from firstbake.cli.plan import plan_into


def demo(
    *,
    out: Annotated[Path, Parameter(help="folder for the case and its plan")],
    json: Annotated[bool, Parameter(help="print the plan as JSON", negative="")] = False,
) -> None:
    """Write an invented demo case (meshes, case.toml, powder cards) and plan it, without any other input.

    Example: `firstbake demo --out demo`
    """
    from firstbake.files import check_output, write_demo

    check_output(out)
    plan_into(write_demo(out), out, as_json=json)
