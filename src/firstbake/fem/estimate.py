"""What the size of the elements does to a green shape."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from firstbake.errors import BadSum
from firstbake.fem.overbuild import Overbuilt, overbuild
from firstbake.fem.veneer import VeneerMesh, mesh_veneer

_COARSER = 1.6  # step of the second mesh over that of the first
_SAMPLES = 2000
_CLEAR_MM = 0.2  # contour over thinner porcelain is left out: the tip of the margin says nothing of the rest


def coarser_build(
    wanted: VeneerMesh,
    *,
    density_of: Callable[[VeneerMesh], ArrayLike],
    end_density: float,
    coarser: float = _COARSER,
) -> Overbuilt:
    """An overbuild of the same room on a mesh coarser by the factor `coarser`.

    density_of : gives the green density for any mesh of the same room, as overbuild() takes it
    raises     : BadSum when the mesh was not made from surfaces
    """
    if wanted.contour is None or wanted.core is None:
        raise BadSum("an error estimate needs a mesh made by mesh_veneer()")
    second = mesh_veneer(
        wanted.contour, wanted.core, step_mm=coarser * wanted.step_mm, least_mm=wanted.least_mm
    )
    return overbuild(second, green_density=density_of(second), end_density=end_density, tolerance_mm=0.03)


def with_error_estimate(built: Overbuilt, coarse: Overbuilt) -> Overbuilt:
    """The same result with error_estimate_um filled in, from a second one of coarser_build().

    The error falls with the square of the step, so the finer answer is off by the difference over
    (ratio of the steps^2 - 1), taken where 99 of 100 contour places stay below it.
    source : Richardson extrapolation
    """
    wanted, ratio = built.wanted, coarse.wanted.step_mm / built.wanted.step_mm
    if wanted.contour is None or wanted.core is None:
        raise BadSum("an error estimate needs a mesh made by mesh_veneer()")
    places = wanted.contour.vertices_mm
    places = places[:: max(1, len(places) // _SAMPLES)]
    places = places[wanted.core.probe.nearest(places).distance_mm > _CLEAR_MM]
    apart = np.linalg.norm(built.green_of(places) - coarse.green_of(places), axis=1)
    estimate = float(np.percentile(apart, 99)) / (ratio**2 - 1) * 1e3
    return replace(built, error_estimate_um=estimate)
