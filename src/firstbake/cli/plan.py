"""firstbake plan: the main job."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from firstbake.cli.talk import StageClock, say, say_json, say_table, stages


def plan(
    case: Path,
    /,
    *,
    out: Annotated[Path, Parameter(help="folder for the result")],
    stress: Annotated[bool, Parameter(help="work out what cooling does to the crown")] = True,
    json: Annotated[bool, Parameter(help="print the plan as JSON", negative="")] = False,
) -> None:
    """Plan one crown: room, layers, green shape, mix, colour, firing and a bench sheet.

    Writes plan.json, bench-sheet.pdf, green.ply, green.stl, green.3mf, cut-back-core.ply and pictures.

    Example: `firstbake plan case.toml --out plan-of-11`

    Parameters
    ----------
    case
        The case file (TOML); `firstbake schema case` says what may stand in it.
    """
    plan_into(case, out, stress=stress, as_json=json)


def plan_into(case: Path, out: Path, *, as_json: bool, stress: bool = True) -> None:
    """Plan the case into the folder and tell the result."""
    from firstbake.crown import plan_crown
    from firstbake.files import check_output, plan_file, read_case, write_plan

    check_output(out)
    with stages(quiet=as_json) as begin:
        clock = StageClock(begin)
        loaded = read_case(case, progress=clock)
        made = plan_crown(loaded.case, stress=stress, progress=clock)
        clock("sheet and pictures")
        green_s = clock.seconds_s.get("green shape")
        written = write_plan(loaded, made, out, green_s=green_s)
    document = plan_file(loaded, made, green_s=green_s)
    if as_json:
        say_json(document)
        return
    say(written.answer)
    for warning in made.warnings:
        say(f"Look here: {warning}")
    say_table(
        "Callipers, mm",
        ("", "build to", "fires to"),
        [(c.name, f"{c.green_mm:.2f}", f"{c.fired_mm:.2f}") for c in made.callipers],
    )
    say_table(
        "Mix",
        ("", "powder g", "liquid ml"),
        [(m.powder, f"{m.powder_g:.2f}", f"{m.liquid_ml:.2f}") for m in made.mix],
    )
    say("")
    for path in written.paths:
        say(str(path))
