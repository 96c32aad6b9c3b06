"""What happens where the refractive index jumps: the outer face, a face inside, a face to the open mouth."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstbake.errors import BadInput

Floats = NDArray[np.float64]

#: How a colour was (or is to be) looked at: diffuse light seen at 8 degrees with the mirror reflection in or
#: out, or light at 45 degrees seen from straight above.
GEOMETRIES = ("d/8 specular included", "d/8 specular excluded", "45/0")

_NODES, _NODE_WEIGHTS = np.polynomial.legendre.leggauss(200)
_RIGHT_ANGLE = np.pi / 2


def fresnel(index: float, angle_rad: ArrayLike) -> Floats:
    """Reflectance of a smooth face for unpolarised light, unit 1.

    index : of the far side over the near side      angle_rad : from the upright, on the near side
    source : Fresnel's equations; 1 beyond the critical angle
    """
    angle = np.asarray(angle_rad, dtype=np.float64)
    near = np.cos(angle)
    square = index * index - np.sin(angle) ** 2
    far = np.sqrt(np.maximum(square, 0.0))
    across = (near - far) / (near + far)
    along = (index * index * near - far) / (index * index * near + far)
    return np.asarray(np.where(square <= 0.0, 1.0, 0.5 * (across**2 + along**2)))


@cache
def diffuse_reflectances(index: float) -> tuple[float, float]:
    """Reflectance of a smooth face for diffuse light, from the thin and from the dense side, unit 1.

    index   : dense over thin, at least 1
    returns : (outside, inside); outside by integrating Fresnel over the half-space, inside from
              index^2 (1 - inside) = 1 - outside, which is the reversibility of light
    """
    if not (np.isfinite(index) and index >= 1.0):
        raise BadInput(f"a refractive index step of {index} was asked for; it must be at least 1")
    if index == 1.0:
        return 0.0, 0.0
    # Grazing light carries the steep part, so the nodes crowd there: angle to the face = share^4 x 90 deg.
    share = 0.5 * (_NODES + 1.0)
    angle = _RIGHT_ANGLE * (1.0 - share**4)
    spread = 0.5 * _NODE_WEIGHTS * _RIGHT_ANGLE * 4.0 * share**3
    outside = float(np.sum(spread * fresnel(index, angle) * np.sin(2.0 * angle)))
    return outside, 1.0 - (1.0 - outside) / (index * index)


def across(beneath: ArrayLike, *, index_beneath: float, index_above: float) -> Floats:
    """Reflectance seen from just above a face, of something with reflectance `beneath` under it, unit 1.

    beneath : internal reflectance on the lower side of the face, any shape
    use     : ceramic fused to an opaque core (index_beneath that of the core), ceramic over an open mouth or
              over a tile with air between (index_beneath 1), core over cement
    formula : k_above + (1 - k_above)(1 - k_beneath) R / (1 - k_beneath R), k the diffuse reflectance of the
              face from each side (Saunderson 1942, J Opt Soc Am 32:727; from memory, unverified)
    """
    r = np.asarray(beneath, dtype=np.float64)
    above, under = both_sides(index_beneath, index_above)
    return np.asarray(above + (1.0 - above) * (1.0 - under) * r / (1.0 - under * r))


def across_slope(beneath: ArrayLike, *, index_beneath: float, index_above: float) -> Floats:
    """Derivative of across() with respect to `beneath`, unit 1."""
    r = np.asarray(beneath, dtype=np.float64)
    above, under = both_sides(index_beneath, index_above)
    return np.asarray((1.0 - above) * (1.0 - under) / (1.0 - under * r) ** 2)


def both_sides(index_beneath: float, index_above: float) -> tuple[float, float]:
    """Diffuse reflectance of a face from above and from beneath, unit 1."""
    thin_side, dense_side = diffuse_reflectances(
        max(index_beneath, index_above) / min(index_beneath, index_above)
    )
    return (thin_side, dense_side) if index_above < index_beneath else (dense_side, thin_side)


@dataclass(frozen=True)
class OuterFace:
    """The face between ceramic and air, for one way of looking.

    mirror : reflectance of the face that reaches the eye or instrument, unit 1
    passed : share of the light that enters and leaves, unit 1     inside : diffuse reflectance from inside
    """

    mirror: float
    passed: float
    inside: float

    def seen(self, internal: ArrayLike) -> Floats:
        """What is seen from outside, unit 1, of a body with that internal reflectance, any shape."""
        r = np.asarray(internal, dtype=np.float64)
        return np.asarray(self.mirror + self.passed * r / (1.0 - self.inside * r))

    def internal(self, seen: ArrayLike) -> Floats:
        """The internal reflectance, unit 1, behind what is seen from outside; exact inverse of seen()."""
        y = np.asarray(seen, dtype=np.float64) - self.mirror
        return np.asarray(y / (self.passed + self.inside * y))


def outer_face(index: float, geometry: str) -> OuterFace:
    """The outer face of a body of that refractive index, looked at in one of GEOMETRIES.

    formula : Saunderson 1942 (J Opt Soc Am 32:727; from memory, unverified) for d/8, with the face's upright
              reflectance in both places; for 45/0 the share (1 - r45)(1 - r0) / index^2, because only the
              light that leaves upright is seen
    raises  : BadInput on an unknown geometry or an index below 1
    """
    if geometry not in GEOMETRIES:
        raise BadInput(f'geometry "{geometry}" is not one of: {"; ".join(GEOMETRIES)}')
    _, inside = diffuse_reflectances(index)
    upright = float(fresnel(index, 0.0))
    if geometry == "45/0":
        oblique = float(fresnel(index, np.pi / 4))
        return OuterFace(0.0, (1.0 - oblique) * (1.0 - upright) / index**2, inside)
    mirror = upright if geometry == "d/8 specular included" else 0.0
    return OuterFace(mirror, (1.0 - upright) * (1.0 - inside), inside)
