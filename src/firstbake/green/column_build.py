"""The green shape from column laws: what to build so that it fires to the wanted contour."""

from dataclasses import dataclass

import numpy as np

from firstbake.case import Case
from firstbake.errors import BadSum
from firstbake.green.allowance import Extra, extra_of
from firstbake.green.bend import Bend
from firstbake.green.columns import Columns, stand
from firstbake.green.cutback import carried_cut, dentine_row
from firstbake.green.green import Green
from firstbake.green.growth import closing_factor
from firstbake.green.reach import reach_of
from firstbake.layering import Layers
from firstbake.mesh import Floats, Surface
from firstbake.room import Room

MODEL = "bonded-layer columns"
_TRIES = 4
_SMOOTH, _MOST_SMOOTHED_MM = 0.25, 0.8  # reach of the smoothing as a share of the thickness (chosen here)


@dataclass(frozen=True, eq=False)
class _Veneer:
    """Fired interfaces heights_mm (m, n) above the core, extra included, and volumes_mm3 (m,) likewise.

    wanted_mm : (n,) height of the wanted contour itself, without the extra
    """

    heights_mm: Floats
    wanted_mm: Floats
    volumes_mm3: Floats
    wanted_mm3: float


def column_green(case: Case, room: Room, *, layers: Layers, extra: Extra | None = None) -> Green:
    """The green contour, and the green dentine before and after the cut-back.

    Each vertex of the contour is a column over its nearest point of the core. Its green height follows
    from mass conservation over the curved core (green.laws), blended into free shrinkage where it stands
    two or more local thicknesses away (green.reach). Allowances are added as fired porcelain of the outermost
    powder. One factor on the whole growth then closes the mass balance (green.growth).

    extra  : fired allowances, from extra_of(case, layers) when None
    raises : BadSum when no porcelain is left to grow or the mass balance cannot be closed
    """
    contour = case.contour.surface
    bend = Bend.of(case.core.surface)
    extra = extra_of(case, layers) if extra is None else extra
    veneer = _veneer(room, layers, extra)
    factors = np.array([layer.powder.build_factor for layer in layers.layers])
    reach = reach_of(contour, case.core.surface, veneer.wanted_mm)
    columns = stand(bend, contour, reach, height_mm=veneer.wanted_mm)
    shape, closure, folded = _grown(columns, veneer, factors)
    full = cut = None
    if layers.cut_back is not None:
        dentine = _as_dentine(layers, factors)
        same = np.array_equal(dentine, factors)
        full = shape if same else _grown(columns, veneer, dentine)[0]
        cut = carried_cut(layers, bend, factors, contour=contour, green=shape, reach=reach, closure=closure)
    volumes = powder_volumes(layers, extra)
    return Green(
        contour=shape,
        overbuild_mm=np.linalg.norm(shape.vertices_mm - contour.vertices_mm, axis=1),
        dentine_full=full,
        dentine_cut=cut,
        volume_mm3=sum(volumes.values()),
        powder_volume_mm3=volumes,
        free_share=reach.free_share,
        mass_closure=closure,
        model=MODEL,
        folded_faces=folded,
        opened=columns.opened(veneer.heights_mm[-1], float(factors.max())),
    )


def powder_volumes(layers: Layers, extra: Extra) -> dict[str, float]:
    """Volume of each powder in the build by name, mm³: fired, with its allowance, times the build factor."""
    volumes: dict[str, float] = {}
    for layer, added in zip(layers.layers, extra.volumes_mm3, strict=True):
        green = layer.powder.build_factor * (layer.volume_mm3 + float(added))
        volumes[layer.powder.name] = volumes.get(layer.powder.name, 0.0) + green
    return volumes


def _veneer(room: Room, layers: Layers, extra: Extra) -> _Veneer:
    thickness = np.vstack([np.maximum(layer.thickness_mm, 0.0) for layer in layers.layers])
    heights = np.cumsum(thickness * room.veneered, axis=0)
    rows = np.arange(len(heights))[:, None]
    added = np.where(rows >= extra.outermost[None], extra.field_mm * room.veneered, 0.0)
    fired = np.array([layer.volume_mm3 for layer in layers.layers])
    if not heights[-1].any():
        raise BadSum("there is no porcelain between core and contour, so there is no green shape to build")
    return _Veneer(heights + added, heights[-1], fired + extra.volumes_mm3, float(fired.sum()))


def _grown(columns: Columns, veneer: _Veneer, factors: Floats) -> tuple[Surface, float, int]:
    """Green contour, closing factor and number of faces that are turned over.

    Growth and directions are smoothed over a quarter of the local thickness; where faces fold, wider.
    """
    contour = columns.surface
    target = float(factors @ veneer.volumes_mm3) - veneer.wanted_mm3
    tries: list[tuple[int, Surface, float]] = []
    for attempt in range(_TRIES):
        smooth = _SMOOTH * 2**attempt * np.clip(veneer.wanted_mm, 0.0, _MOST_SMOOTHED_MM)
        shift = columns.shift_mm(veneer.heights_mm, factors, smooth_mm=smooth)
        closure = closing_factor(contour, shift, target)
        shape = contour.moved(contour.vertices_mm + closure * shift)
        tries.append((folded_faces(contour, shape), shape, closure))
        if tries[-1][0] == 0:
            break
    folded, shape, closure = min(tries, key=lambda found: found[0])
    return shape, closure, folded


def folded_faces(before: Surface, after: Surface) -> int:
    """Number of faces whose normal turned by more than a right angle."""
    return int((np.einsum("ij,ij->i", before.face_normals, after.face_normals) < 0).sum())


def _as_dentine(layers: Layers, factors: Floats) -> Floats:
    """The factors as they would be if everything outside the dentine were dentine too."""
    row = dentine_row(layers)
    return np.where(np.arange(len(factors)) > row, factors[row], factors)
