"""Weight and surface tension against closed forms of viscous films.

Ripples: Orchard 1962 levelling of a film of thickness h, rate (gamma k + rho g / k) / (2 eta) times
(sinh kh cosh kh - kh) / (cosh^2 kh + (kh)^2) (from memory; its limits gamma k / 2 eta for thick and
gamma k^4 h^3 / 3 eta for thin films checked below). Drainage: rho g h^2 / 2 eta.
"""

import numpy as np
import pytest
from bodies import box

from firstbake.fem import Body, Glass, Hold, Loads, NodeAveraged, Run

DENSE = 0.999
GLASS = Glass(surface_tension_N_per_m=0.30, grain_radius_um=10.0, solid_density_kg_per_m3=2450.0)
VISCOSITY_PA_S = 1e6
A_MM = 0.01


def levelling(kh):
    return (np.sinh(kh) * np.cosh(kh) - kh) / (np.cosh(kh) ** 2 + kh**2)


def ripple_rate_per_s(wave_mm, film_mm, *, tension=True, weight=True):
    k = 2 * np.pi / (wave_mm * 1e-3)
    drive = tension * 0.30 * k + weight * 2450 * DENSE * 9.80665 / k
    return drive / (2 * VISCOSITY_PA_S) * levelling(k * film_mm * 1e-3)


def rippled_film(wave_mm, film_mm, counts):
    """Half a wave between planes of symmetry, bonded below; places across before the ripple was laid on."""
    points, tets = box(counts, (wave_mm / 2, 0.1, film_mm))
    rippled = points.copy()
    wave = np.cos(2 * np.pi * points[:, 0] / wave_mm)
    rippled[:, 2] += A_MM * wave_mm * wave * (points[:, 2] / film_mm) ** 2
    held = np.zeros((len(points), 3), bool)
    held[:, 0] = np.isin(points[:, 0], (0.0, points[:, 0].max()))
    held[:, 1] = np.isin(points[:, 1], (0.0, points[:, 1].max()))
    return Body(rippled, tets, points[:, 2] == 0, held=held), points[:, 2] == film_mm, wave


def run_of(body, loads):
    held, _ = body.holds(slide=False)
    element = NodeAveraged(body.nodes_mm, body.tets, held)
    masses = element.masses_mm3(body.nodes_mm, np.full(len(body.tets), DENSE))
    return Run(body, element, masses, closed_at=0.02, loads=loads)


def height_of(nodes, top, wave):
    """Amplitude of the ripple."""
    z = nodes[top, 2]
    return float(np.polyfit(wave[top], z, 1)[0])


@pytest.mark.parametrize(
    ("wave_mm", "film_mm", "tension", "weight"),
    [(0.5, 0.5, True, False), (2.0, 0.3, True, False), (4.0, 0.5, False, True)],
)
def test_a_ripple_flattens_at_the_closed_rate(wave_mm, film_mm, tension, weight):
    body, top, wave = rippled_film(wave_mm, film_mm, (20, 1, 14))
    loads = Loads(GLASS, down=(0.0, 0.0, -1.0) if weight else None, surface_tension=tension)
    seconds = 0.05 / ripple_rate_per_s(wave_mm, film_mm, tension=tension, weight=weight)
    after = run_of(body, loads).wait(body.nodes_mm, Hold(seconds, VISCOSITY_PA_S, steps=2), GLASS)
    left = height_of(after, top, wave) / height_of(body.nodes_mm, top, wave)
    assert -np.log(left) == pytest.approx(0.05, rel=0.1)


def test_the_worked_example_of_half_a_millimetre():
    """0.893 of a 0.5 mm ripple on 1 mm is left after 60 s at 1e6 Pa s (summed apart from the package)."""
    assert np.exp(-60 * ripple_rate_per_s(0.5, 1.0)) == pytest.approx(0.893, abs=0.002)
    body, top, wave = rippled_film(0.5, 1.0, (20, 1, 24))
    loads = Loads(GLASS, down=(0.0, 0.0, -1.0), surface_tension=True)
    after = run_of(body, loads).wait(body.nodes_mm, Hold(60.0, VISCOSITY_PA_S, steps=4), GLASS)
    left = height_of(after, top, wave) / height_of(body.nodes_mm, top, wave)
    assert 1 - left == pytest.approx(1 - 0.893, rel=0.1)


def test_a_standing_film_drains_at_the_closed_rate():
    points, tets = box((8, 1, 32), (1.5, 0.3, 12.0))
    held = np.zeros((len(points), 3), bool)
    held[:, 1] = np.isin(points[:, 1], (0.0, 0.3))
    body = Body(points, tets, points[:, 0] == 0, held=held)
    run = run_of(body, Loads(GLASS, down=(0.0, 0.0, -1.0)))
    after = run.wait(points, Hold(60.0, VISCOSITY_PA_S, steps=1), GLASS)
    middle = (points[:, 0] == 1.5) & (np.abs(points[:, 2] - 6.0) < 1e-9)
    fall_mm = -(after - points)[middle, 2].mean()
    closed_mm = 2450 * DENSE * 9.80665 * 1.5e-3**2 / (2 * VISCOSITY_PA_S) * 60 * 1e3
    assert fall_mm == pytest.approx(closed_mm, rel=0.1)
    assert closed_mm == pytest.approx(1.6e-3, rel=0.02)


def test_limits_of_the_ripple_formula():
    assert levelling(8.0) == pytest.approx(1.0, rel=1e-4)
    assert levelling(0.05) == pytest.approx(2 * 0.05**3 / 3, rel=0.01)
