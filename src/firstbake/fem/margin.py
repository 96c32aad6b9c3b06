"""Where porcelain runs out at the margin: how the mesh ends there, and what holds it.

A thin wedge of porcelain that is bonded along one side keeps a plane free side while it shrinks (an exact
solution of the law: the strain is the same everywhere). Summed from 40 % porosity it ends either flatter than
about 19 degrees or steeper than about 74, whatever its green angle. No green wedge fires to an angle between,
so a green shape for such a margin cannot be computed to its very tip, and a finer mesh makes it worse. Real
margins of crowns lie between. So three things are done, over half a millimetre:

    porcelain thinner than least_mm is not meshed and goes by the film rule
    the sideways motion of the porcelain next to it is braked, as the bonded film would hold it
    the last RIM_MM of the mesh is not counted in the residual, and corrected less

tests/fem/test_margin_wedge.py works out the wedge.
"""

import numpy as np
from scipy.spatial import cKDTree

from firstbake.fem.tetrahedra import Flags
from firstbake.mesh import Floats

LEAST_MM = 0.08  # fired thickness at which the mesh ends at the margin (chosen by trial, see decision 0010)
RIM_MM = 0.3  # of the mesh next to its end, not counted (a third of a usual margin bevel; chosen here)
FEATHER_MM = 0.1  # the contour counts as margin, and is meshed finer, where porcelain is thinner than this
_BRAKED_MM = 0.5  # reach of the brake from the margin (chosen by trial)
_BRAKE = 1.0  # its strength at half the reach, in units of the shear resistance of a film that high


def end_distance_mm(points_mm: Floats, ended: Flags) -> Floats:
    """(n,) distance of each node to the nearest node of the mesh's end face, mm; infinite without one."""
    if not ended.any():
        return np.full(len(points_mm), np.inf)
    far, _ = cKDTree(points_mm[ended]).query(points_mm)
    return np.asarray(far)


def brake_per_mm2(end_mm: Floats, normals: Floats) -> Floats:
    """(n, 3, 3) resistance of each node to motion along the core, over twice its shear viscosity and
    volume, 1/mm².

    end_mm  : (n,) from end_distance_mm()      normals : (n, 3) unit normals of the core below each node
    A film of height h resists with about 1/h²; the brake has that size near the margin and is 0 from 0.5 mm
    on.
    """
    away = end_mm + LEAST_MM
    strength = _BRAKE * np.clip(_BRAKED_MM / away - 1, 0.0, None) ** 2 / away**2
    along = np.eye(3) - normals[:, :, None] * normals[:, None, :]
    return np.asarray(strength[:, None, None] * along)
