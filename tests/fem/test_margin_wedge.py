"""A bonded wedge of porcelain: why the margin is braked, and that the brake makes it a film.

Outside check: the wedge has an exact solution, worked out here with SciPy's own time stepping. With the bond
at y = 0 and the flow v = (a y, -b y) the strain rate is the same everywhere; two conditions of no traction on
the free side y = t x give a and b at each porosity:

    G a = t s_xx,  s_yy = t² s_xx  with  s_xx = P + b (2G/3 - K),  s_yy = P - b (4G/3 + K)
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from firstbake.fem import Body, brake_per_mm2, film_thickness_ratio, fire
from firstbake.fem.lattice import lattice

GREEN, END = 0.6, 0.98


def fired_slope(slope: float, tau: float) -> tuple[float, float]:
    """Slope of the free side and porosity after tau."""

    def rates(_: float, state: np.ndarray) -> list[float]:
        t, th = state
        shear, bulk, pull = 0.75 * (1 - th) ** 2, (1 - th) ** 3 / th, (1 - th) ** 2
        b = pull * (1 - t * t) / (4 * shear / 3 + bulk + t * t * (2 * shear / 3 - bulk))
        a = t * (pull + b * (2 * shear / 3 - bulk)) / shear
        return [-b * t - a * t * t, -(1 - th) * b]

    end = solve_ivp(rates, (0, tau), [slope, 1 - GREEN], rtol=1e-9, atol=1e-12).y[:, -1]
    return float(end[0]), float(end[1])


def degrees(slope: float) -> float:
    return float(np.degrees(np.arctan(slope)))


def wedge(angle_deg: float, *, length_mm: float = 3.8) -> Body:
    """A slice of a wedge between planes of symmetry, its thin end cut off 0.2 mm from the tip."""
    box = np.array([length_mm, 0.6, 0.4])
    points, tets = lattice(np.zeros(3), box, step_mm=0.1, keep=lambda m: np.ones(len(m), dtype=bool))
    low, high = points.min(axis=0), points.max(axis=0)
    share = (points - low) / (high - low)
    x = 0.2 + length_mm * share[:, 0]
    y = share[:, 1] * x * np.tan(np.radians(angle_deg))
    z = 0.3 * share[:, 2]
    bonded = share[:, 1] < 1e-9
    held = np.zeros((len(points), 3), dtype=bool)
    held[(share[:, 2] < 1e-9) | (share[:, 2] > 1 - 1e-9), 2] = True
    return Body(np.column_stack([x, y, z]), tets, bonded, held=held)


def test_no_green_wedge_fires_to_a_usual_margin_angle():
    angles = np.arange(2.0, 89.0, 1.0)
    fired = np.array([degrees(fired_slope(np.tan(np.radians(a)), 3.49)[0]) for a in angles])
    assert not ((fired > 20) & (fired < 73)).any()
    assert fired.max() > 80 and fired.min() < 2  # both families were reached


def test_a_flat_wedge_is_nearly_a_film():
    slope, porosity = fired_slope(np.tan(np.radians(4.0)), 3.49)
    assert porosity == pytest.approx(0.02, abs=5e-4)
    assert slope / np.tan(np.radians(4.0)) == pytest.approx(film_thickness_ratio(GREEN, END), rel=0.02)


@pytest.mark.parametrize(("angle_deg", "rel"), [(15.0, 0.01), (20.0, 0.03)])  # a film is 3 and 6 % off
def test_the_element_follows_the_wedge_away_from_its_cut_ends(angle_deg, rel):
    body, green = wedge(angle_deg), np.tan(np.radians(angle_deg))
    done = fire(body, green_density=GREEN, end_density=0.8, steps=6)
    slope, porosity = fired_slope(green, done.tau)
    top = np.isclose(body.nodes_mm[:, 1], body.nodes_mm[:, 0] * green)
    middle = np.abs(body.nodes_mm[:, 0] - 0.6) < 0.2
    fit = np.polyfit(done.nodes_mm[top & middle, 0], done.nodes_mm[top & middle, 1], 1)
    assert fit[0] == pytest.approx(slope, rel=rel)
    assert done.porosity[middle].mean() == pytest.approx(porosity, abs=0.003)


def test_the_brake_makes_the_wedge_next_to_its_end_a_film():
    plain = wedge(45.0)
    away = plain.nodes_mm[:, 0] - 0.2
    normals = np.tile([0.0, 1.0, 0.0], (len(away), 1))
    braked = Body(
        plain.nodes_mm, plain.tets, plain.bonded, held=plain.held, brake=brake_per_mm2(away, normals)
    )
    top = np.isclose(plain.nodes_mm[:, 1], plain.nodes_mm[:, 0]) & (away < 0.11)
    moved = [
        np.abs(fire(b, green_density=GREEN, end_density=0.8, steps=4).displacement_mm[top, 0]).mean()
        for b in (plain, braked)
    ]
    assert moved[1] < 0.5 * moved[0]
    far = brake_per_mm2(np.array([0.5, 3.0, np.inf]), np.tile([0.0, 0.0, 1.0], (3, 1)))
    assert np.abs(far).max() == 0.0
