"""Radiative transfer in plane layers by adding and doubling over 20 directions: a check on the two-flux sum.

Written for these tests. Radiance is followed along Gauss directions of the upper and lower half-space, ten
inside and ten outside of the cone that can leave the ceramic, and one more of no weight straight up, which is
looked at. Scattering is that of Henyey & Greenstein with the forward peak cut off (delta-M). Operators act on
radiance: R[i, j] is what leaves in direction i of what comes in direction j. By reversibility the radiance
straight up under even light from everywhere is the share of a straight beam that comes back.

A first thin slice (implicit middle rule) is doubled until it is the layer; layers, the ground and the outer
face are then added.
"""

from dataclasses import dataclass

import numpy as np

INDEX = 1.5
_HALF = 10
_THIN = 2e-4


def _directions() -> tuple[np.ndarray, np.ndarray]:
    node, weight = np.polynomial.legendre.leggauss(_HALF)
    critical = np.sqrt(1.0 - 1.0 / INDEX**2)
    steep = 0.5 * (1.0 - critical)
    mu = np.concatenate([0.5 * critical * (node + 1.0), critical + steep * (node + 1.0), [1.0]])
    return mu, np.concatenate([0.5 * critical * weight, steep * weight, [0.0]])


MU, WEIGHT = _directions()
FLUX = 2.0 * MU * WEIGHT  # share of each direction in the flux of even light


def fresnel_inside() -> np.ndarray:
    """Reflectance of the outer face for each direction, from inside."""
    sine = INDEX * np.sqrt(1.0 - MU**2)
    out = np.sqrt(np.maximum(1.0 - sine**2, 0.0))
    across = (INDEX * MU - out) / (INDEX * MU + out)
    along = (MU - INDEX * out) / (MU + INDEX * out)
    return np.where(sine >= 1.0, 1.0, 0.5 * (across**2 + along**2))


FACE = fresnel_inside()


@dataclass(frozen=True)
class Matter:
    """Absorption and scattering, 1/mm, (w,) each, and the mean cosine of scattering."""

    absorption: np.ndarray
    scattering: np.ndarray
    g: float


def slab(matter: Matter, thickness_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """R and T, (w, 21, 21) each, of a layer without faces."""
    terms = 2 * _HALF
    order = np.arange(terms)
    peak = matter.g**terms
    shape = (2 * order + 1) * (matter.g**order - peak) / (1.0 - peak)
    up = np.polynomial.legendre.legvander(MU, terms - 1)
    forward = (up * shape) @ up.T
    backward = (up * shape * (-1.0) ** order) @ up.T
    scattering = matter.scattering * (1.0 - peak)
    depth = (matter.absorption + scattering) * thickness_mm
    share = (scattering / np.maximum(matter.absorption + scattering, 1e-300))[:, None, None]
    doublings = int(max(0, np.ceil(np.log2(max(depth.max(), _THIN) / (_THIN * 2.0)))))
    slice_depth = (depth / 2.0**doublings)[:, None, None]
    one = np.eye(len(MU))
    lost = slice_depth / 2.0 * (one - 0.5 * share * forward * WEIGHT) / MU[:, None]
    turned = slice_depth / 2.0 * 0.5 * share * backward * WEIGHT / MU[:, None]
    inverse = np.linalg.inv(one + lost)
    g = np.linalg.inv(one + lost - turned @ inverse @ turned)
    r, t = 2.0 * g @ turned @ inverse, 2.0 * g - one
    for _ in range(doublings):
        between = t @ np.linalg.inv(one - r @ r)
        r, t = r + between @ r @ t, between @ t
    return r, t


def over(layer: tuple[np.ndarray, np.ndarray], ground: np.ndarray) -> np.ndarray:
    """Reflection of a layer on a ground, (w, 21, 21)."""
    r, t = layer
    return r + t @ np.linalg.inv(np.eye(len(MU)) - ground @ r) @ ground @ t


def even_ground(reflectance: np.ndarray) -> np.ndarray:
    """A ground that sends light back evenly (Lambert); reflectance (w,) met from inside."""
    return np.asarray(reflectance)[:, None, None] * np.ones((len(MU), 1)) * FLUX


def free_face(mouth: float, wavelengths: int) -> np.ndarray:
    """A smooth lower face over a hollow that sends that share back evenly."""
    outside = 1.0 - INDEX**2 * float(FLUX @ (1.0 - FACE))
    back = INDEX**2 * mouth / (1.0 - mouth * outside)
    face = np.diag(FACE) + back * np.outer(1.0 - FACE, FLUX * (1.0 - FACE))
    return np.tile(face, (wavelengths, 1, 1))


def seen(body: np.ndarray) -> np.ndarray:
    """(w,) reflectance straight up under even light, mirror part left out, through the outer face."""
    light = INDEX**2 * (1.0 - FACE)
    inside = np.linalg.solve(np.eye(len(MU)) - body * FACE, (body @ light)[..., None])[..., 0]
    return (1.0 - FACE[-1]) / INDEX**2 * inside[:, -1]
