"""firstbake room: how much place there is, and nothing else."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from firstbake.cli.talk import say, say_json, say_table, stages


def room(
    case: Path,
    /,
    *,
    at: Annotated[Path | None, Parameter(help="CSV of points with columns x_mm, y_mm, z_mm")] = None,
    json: Annotated[bool, Parameter(help="print the room as JSON", negative="")] = False,
) -> None:
    """Measure the room between core and wanted contour, with contacts and clearance.

    Example: `firstbake room case.toml --at points.csv --json`

    Parameters
    ----------
    case
        The case file (TOML).
    """
    from firstbake.crown import room_of_case
    from firstbake.files import read_case, read_points, room_file
    from firstbake.room import thickness_at
    from firstbake.sheet import lead_of

    points = None if at is None else read_points(at)
    with stages(quiet=json) as begin:
        loaded = read_case(case, progress=begin)
        begin("room")
        frame, measured = room_of_case(loaded.case)
    at_points = None if points is None else thickness_at(loaded.case, points)
    document = room_file(loaded, measured, points_mm=points, thickness_mm=at_points)
    if json:
        say_json(document)
        return
    say(lead_of(measured, case=loaded.case, frame=frame))
    size = document.room.thickness_mm
    say_table(
        "Room, mm",
        ("least", "5 %", "median", "95 %", "most"),
        [tuple(f"{v:.2f}" for v in (size.min, size.p05, size.median, size.p95, size.max))],
    )
    for region in (*measured.thin, *measured.unsupported):
        say(f"{region.kind}: {region.worst_mm:.2f} mm, {region.where}, {region.area_mm2:.1f} mm²")
    if document.points is not None:
        rows = [(f"{p.x_mm:g}, {p.y_mm:g}, {p.z_mm:g}", f"{p.thickness_mm:.3f}") for p in document.points]
        say_table("At the points", ("x, y, z mm", "room mm"), rows)
