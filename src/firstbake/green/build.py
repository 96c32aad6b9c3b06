"""build_green: the green shape by the sintering model; the column law where that gives no answer."""

from dataclasses import replace

from firstbake.case import Case
from firstbake.errors import BadMesh, BadSum
from firstbake.fem import Cancelled
from firstbake.green.allowance import extra_of
from firstbake.green.column_build import column_green
from firstbake.green.green import Green
from firstbake.green.sintered import Progress, sintered_green
from firstbake.layering import Layers
from firstbake.room import Room


def build_green(case: Case, room: Room, *, layers: Layers, progress: Progress | None = None) -> Green:
    """The green contour, and the green dentine before and after the cut-back.

    The finite-element model of sintering gives the shape. Where it cannot (a room that cannot be meshed, no
    green shape that fires to the wanted one) the column law's shape stands in, and `model` and `notes` say
    so.
    progress : told (what is done, share done); answers False to stop
    raises   : BadSum when no porcelain is left to grow or the mass balance cannot be closed; Cancelled
    """
    extra = extra_of(case, layers)
    try:
        return sintered_green(case, room, layers=layers, extra=extra, progress=progress)
    except Cancelled:
        raise
    except (BadMesh, BadSum) as reason:
        note = (
            f"The sintering model gave no answer ({str(reason).rstrip('.')}); the overbuild comes from the "
            "column law, which may be wrong by 0.2 mm at the edge. Measure after the bake"
        )
        return replace(column_green(case, room, layers=layers, extra=extra), notes=(note,))
