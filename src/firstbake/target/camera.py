"""From linear camera values to CIE XYZ by a card's patches, and how far off that is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import delta_e00, lab_from_xyz, white_of
from firstbake.errors import BadInput
from firstbake.target.card import LEAST_PATCHES

Floats = NDArray[np.float64]

#: Refused above this leave-one-patch-out error: beyond it a photograph says nothing about a tooth's colour.
MOST_ERROR_DELTA_E00 = 2.0
_RIDGE = 1e-4  # pull towards zero relative to the mean square of the camera values (chosen here)
_LEAST_SHARE = 0.05  # darker patches count no more than one of this share of white (chosen here)


@dataclass(frozen=True, eq=False)
class Camera:
    """A fitted camera under one light.

    matrix   : (3, 3), XYZ = matrix @ RGB, Y of the perfect diffuser 100
    left_out : (p,) ΔE00 of each patch, predicted by the fit to all the others
    """

    matrix: Floats
    left_out_delta_e00: Floats

    @property
    def error_delta_e00(self) -> float:
        """Root mean square of the leave-one-patch-out errors."""
        return float(np.sqrt(np.mean(np.square(self.left_out_delta_e00))))

    def lab(self, rgb: Floats) -> Floats:
        """(..., 3) CIELAB, D65, 2 degrees, of (..., 3) linear camera values."""
        return lab_from_xyz(rgb @ self.matrix.T)


def fit_camera(rgb: Floats, xyz: Floats, *, names: tuple[str, ...]) -> Camera:
    """The 3x3 matrix from patches.

    rgb    : (p, 3) linear camera values       xyz : (p, 3), D65, 2 degrees     names : of the patches
    method : least squares with a slight ridge, each of X, Y, Z weighted by the slope of the cube root, so
             that the sum is nearly one over lightness and colour differences; leave-one-patch-out by
             fitting anew
    raises : BadInput with too few patches, or above MOST_ERROR_DELTA_E00, naming the worst patch
    """
    if len(rgb) < LEAST_PATCHES:
        raise BadInput(
            f"only {len(rgb)} patches can be used, {LEAST_PATCHES} are needed; photograph the card again "
            "without glare and shadows, and not too bright"
        )
    keep = ~np.eye(len(rgb), dtype=bool)
    predicted = np.stack([_matrix(rgb[k], xyz[k]) @ one for k, one in zip(keep, rgb, strict=True)])
    errors = delta_e00(lab_from_xyz(predicted), lab_from_xyz(xyz))
    camera = Camera(_matrix(rgb, xyz), np.asarray(errors))
    if not camera.error_delta_e00 <= MOST_ERROR_DELTA_E00:
        worst = int(np.argmax(errors))
        raise BadInput(
            f"the card's patches are {camera.error_delta_e00:.1f} ΔE00 off when each is predicted from the "
            f"others ({names[worst]} most, {errors[worst]:.1f}); {MOST_ERROR_DELTA_E00:g} is the limit. "
            "Check that it is the card of the file and measured, evenly lit and without glare"
        )
    return camera


def _matrix(rgb: Floats, xyz: Floats) -> Floats:
    scale = np.sqrt(np.mean(rgb**2))
    inputs, white = rgb / scale, white_of("D65")
    rows = []
    for axis in range(3):
        share = np.maximum(xyz[:, axis] / white[axis], _LEAST_SHARE)
        weight = share ** (-4.0 / 3.0)
        normal = (inputs * weight[:, None]).T @ inputs
        ridge = _RIDGE * np.trace(normal) / 3.0 * np.eye(3)
        rows.append(np.linalg.solve(normal + ridge, (inputs * weight[:, None]).T @ xyz[:, axis]))
    return np.asarray(np.stack(rows) / scale)
