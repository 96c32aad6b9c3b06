"""Light at the faces: Fresnel, diffuse light, what is seen from outside, and the lower ends of a stack."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from firstbake.colour import GEOMETRIES, across, diffuse_reflectances, fresnel, outer_face
from firstbake.colour.ground import mouth_end, opaque_end
from firstbake.errors import BadInput

# index, r(0), r(45), diffuse outside, diffuse inside: integrals of Fresnel's equations; 0.092 and 0.596 at
# 1.5 are the printed values (Judd 1942)
PRINTED = [
    (1.33, 0.0201, 0.0275, 0.0659, 0.4719),
    (1.50, 0.0400, 0.0502, 0.0918, 0.5963),
    (1.52, 0.0426, 0.0530, 0.0947, 0.6082),
    (1.54, 0.0452, 0.0559, 0.0976, 0.6195),
    (1.62, 0.0560, 0.0673, 0.1091, 0.6605),
    (2.20, 0.1406, 0.1512, 0.1860, 0.8318),
]


@pytest.mark.parametrize(("n", "upright", "oblique", "outside", "inside"), PRINTED)
def test_faces_reflect_as_printed(
    n: float, upright: float, oblique: float, outside: float, inside: float
) -> None:
    assert float(fresnel(n, 0.0)) == pytest.approx(upright, abs=6e-5)
    assert float(fresnel(n, np.pi / 4)) == pytest.approx(oblique, abs=6e-5)
    assert diffuse_reflectances(n) == pytest.approx((outside, inside), abs=6e-5)


@pytest.mark.parametrize("n", [1.001, 1.0133, 1.2, 1.5, 2.2 / 1.5, 2.2, 4.0])
def test_diffuse_light_agrees_with_the_closed_form_and_with_quadrature_from_inside(n: float) -> None:
    # outside: closed form of Duntley (1942); inside: adaptive quadrature up to and beyond the critical angle
    import mpmath

    with mpmath.workdps(40):
        m = mpmath.mpf(n)
        closed = (
            mpmath.mpf(1) / 2
            + (m - 1) * (3 * m + 1) / (6 * (m + 1) ** 2)
            + m**2 * (m**2 - 1) ** 2 / (m**2 + 1) ** 3 * mpmath.log((m - 1) / (m + 1))
            - 2 * m**3 * (m**2 + 2 * m - 1) / ((m**2 + 1) * (m**4 - 1))
            + 8 * m**4 * (m**4 + 1) / ((m**2 + 1) * (m**4 - 1) ** 2) * mpmath.log(m)
        )
    critical = np.arcsin(1 / n)
    below, _ = quad(lambda a: float(fresnel(1 / n, a)) * np.sin(2 * a), 0, critical, epsabs=1e-11, limit=300)
    outside, inside = diffuse_reflectances(n)
    assert outside == pytest.approx(float(closed), abs=1e-13)
    assert inside == pytest.approx(below + np.cos(critical) ** 2, abs=1e-8)


def test_no_step_in_index_reflects_nothing_and_a_wrong_index_is_refused() -> None:
    assert diffuse_reflectances(1.0) == (0.0, 0.0)
    assert float(across(0.4, index_beneath=1.5, index_above=1.5)) == 0.4
    with pytest.raises(BadInput, match="at least 1"):
        diffuse_reflectances(0.9)
    with pytest.raises(BadInput, match="45/0"):
        outer_face(1.5, "sideways")


def test_the_share_that_passes_is_as_derived_for_each_geometry() -> None:
    assert outer_face(1.5, "d/8 specular excluded").passed == pytest.approx(0.3875, abs=5e-5)
    assert outer_face(1.5, "45/0").passed == pytest.approx(0.4052, abs=5e-5)
    assert outer_face(2.2, "45/0").passed == pytest.approx(0.1507, abs=5e-5)


def test_the_outer_face_gives_the_worked_example() -> None:
    # Saunderson's formula with k1 = 0.04, k2 = 0.6 at internal 0.5, worked by hand
    from firstbake.colour import OuterFace

    without = OuterFace(0.0, 0.96 * 0.4, 0.6)
    included = OuterFace(0.04, 0.96 * 0.4, 0.6)
    assert float(without.seen(0.5)) == pytest.approx(0.274286, abs=5e-7)
    assert float(included.seen(0.5)) == pytest.approx(0.314286, abs=5e-7)


@given(index=st.floats(1.0, 3.0), geometry=st.sampled_from(GEOMETRIES), internal=st.floats(0.0, 1.0))
def test_removing_the_outer_face_undoes_it(index: float, geometry: str, internal: float) -> None:
    face = outer_face(index, geometry)
    assert float(face.internal(face.seen(internal))) == pytest.approx(internal, abs=1e-10)


@given(first=st.floats(1.0, 2.5), second=st.floats(1.0, 2.5), beneath=st.floats(0.0, 1.0))
def test_a_face_makes_no_light_and_a_perfect_ground_stays_perfect(
    first: float, second: float, beneath: float
) -> None:
    seen = float(across(beneath, index_beneath=first, index_above=second))
    assert -1e-12 <= seen <= 1 + 1e-12
    assert float(across(1.0, index_beneath=first, index_above=second)) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(
    ("mouth", "seen"), [(0.0, 0.5963), (0.05, 0.6148), (0.15, 0.6521), (0.30, 0.7094), (0.87, 0.943)]
)
def test_a_free_lower_face_sends_most_light_back_even_over_the_dark(mouth: float, seen: float) -> None:
    # the inside reflectance of Fresnel plus what returns from the hollow
    end = mouth_end(mouth)
    found = across(end.reflectance, index_beneath=float(end.index or 0), index_above=1.5)
    assert found == pytest.approx(np.full(31, seen), abs=1e-3 if mouth > 0.5 else 6e-5)


def test_an_opaque_core_looks_brighter_from_within_the_porcelain() -> None:
    # by hand: 0.45 in air at index 2.2, specular excluded -> 0.867 inside -> 0.758 from porcelain of 1.5
    end = opaque_end(np.array([0.45]), index=2.2, geometry="d/8 specular excluded")
    assert end.reflectance[0] == pytest.approx(0.867, abs=5e-4)
    assert across(end.reflectance, index_beneath=2.2, index_above=1.5)[0] == pytest.approx(0.758, abs=5e-4)
