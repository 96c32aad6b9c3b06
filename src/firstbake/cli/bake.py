"""firstbake bake: what a given build would become."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from firstbake.cli.talk import say, say_json, stages


def bake(
    case: Path,
    /,
    *,
    green: Annotated[Path, Parameter(help="mesh of the build's outer surface")],
    out: Annotated[Path, Parameter(help="folder for the result")],
    json: Annotated[bool, Parameter(help="print the result as JSON", negative="")] = False,
) -> None:
    """Fire a green build over the case's core in the sintering model: what would it become?

    Writes fired.ply (vertex for vertex the green mesh, with the deviation as a map) and bake.json.

    Example: `firstbake bake case.toml --green plan-of-11/green.ply --out bake-of-11`

    Parameters
    ----------
    case
        The case file (TOML).
    """
    from firstbake.crown import room_of_case
    from firstbake.files import check_output, read_case, read_surface, write_bake
    from firstbake.green import bake_green
    from firstbake.layering import layer_up

    check_output(out)
    with stages(quiet=json) as begin:
        loaded = read_case(case, progress=begin)
        build = read_surface(green, unit=None, role="contour")
        begin("room")
        frame, room = room_of_case(loaded.case)
        begin("layers")
        layers = layer_up(loaded.case, frame, room)
        begin("green shape")
        baked = bake_green(loaded.case, room, build.surface, layers=layers)
        begin("sheet and pictures")
        document = write_bake(loaded, baked, green=green, read=build, target=out)
    if json:
        say_json(document)
        return
    deviation = document.deviation_um
    where = "too much" if abs(deviation.max) >= abs(deviation.min) else "too little"
    worst = max(abs(deviation.max), abs(deviation.min)) / 1000
    say(
        f"This build fires to within {deviation.p99_abs / 1000:.2f} mm of what is wanted from the furnace "
        f"over 99 % of the surface (RMS {deviation.rms / 1000:.3f} mm); worst {worst:.2f} mm {where}."
    )
    for repair in document.repairs:
        if repair.file == green.name:
            say(f"{green.name}: {repair.sentence}.")
    say(str(out / "fired.ply"))
    say(str(out / "bake.json"))
