"""Free bodies and bonded films against closed forms (derived in the law's docstring; Lester 2017 eq. 31)."""

import numpy as np
import pytest
from bodies import ball_shell, box, film

from firstbake.fem import Body, film_porosity, fire, free_length_ratio, free_porosity, solver_named


def cube(count=3):
    points, tets = box((count,) * 3, (2.0,) * 3)
    return Body(points, tets, np.zeros(len(points), bool))


def test_a_free_cube_shrinks_alike_in_all_directions():
    body = cube()
    fired = fire(body, green_density=0.6, end_density=0.98)
    size = np.ptp(fired.nodes_mm, axis=0) / np.ptp(body.nodes_mm, axis=0)
    assert size == pytest.approx(free_length_ratio(0.6, 0.98), abs=1e-4)
    assert np.abs(fired.tension).max() < 1e-6


def test_the_time_of_a_free_cube_is_of_second_order():
    exact = np.log(0.4 / 0.02)
    assert free_porosity(0.4, exact) == pytest.approx(0.02)
    misses = [
        abs(fire(cube(2), green_density=0.6, end_density=0.98, steps=n).tau - exact) for n in (8, 16, 32)
    ]
    slope = np.log2(np.array(misses[:-1]) / misses[1:])
    assert slope[-1] == pytest.approx(2.0, abs=0.2)


def test_a_bonded_film_keeps_its_outline_and_loses_thickness():
    fired = fire(film(), green_density=0.6, end_density=0.98)
    top = fired.nodes_mm[:, 2].max()
    assert top / 0.5 == pytest.approx(0.6 / 0.98, abs=1e-3)
    assert np.abs(fired.displacement_mm[:, :2]).max() < 1e-9


def test_a_film_follows_the_logit_law_in_second_order():
    misses = []
    for n in (8, 16, 32):
        fired = fire(film(), green_density=0.6, end_density=0.95, steps=n)
        misses.append(abs(film_porosity(0.4, fired.tau) - 0.05))
    slope = np.log2(np.array(misses[:-1]) / misses[1:])
    assert slope[-1] == pytest.approx(2.0, abs=0.25)
    assert misses[-1] < 1e-3 * 0.05 * 5


def test_the_shape_of_a_ball_shell_is_of_second_order_in_the_steps():
    body, free = ball_shell(1.5)
    places = [fire(body, green_density=0.6, end_density=0.98, steps=n).nodes_mm for n in (4, 8, 16, 64)]
    miss = [np.linalg.norm(p - places[-1], axis=1)[free].max() for p in places[:-1]]
    assert np.log2(miss[1] / miss[2]) == pytest.approx(2.0, abs=0.3)
    assert miss[0] < 0.006


def test_mass_is_conserved():
    body, _ = ball_shell(1.5)
    for solver in ("fronts", "superlu"):
        fired = fire(body, green_density=0.6, end_density=0.95, solver=solver_named(solver))
        assert fired.mass_mm3.sum() == pytest.approx(0.6 * body.volume_mm3, rel=1e-12)
        after = body.moved(fired.nodes_mm).volume_mm3
        assert 0.95 * after == pytest.approx(0.6 * body.volume_mm3, rel=1e-6)
        # the porosities of the nodes tell the same mass
        share = np.bincount(body.tets.ravel(), np.repeat(_volumes(body, fired) / 4, 4))
        assert ((1 - fired.porosity) * share).sum() == pytest.approx(fired.mass_mm3.sum(), rel=1e-6)


def _volumes(body, fired):
    a, b, c, d = (fired.nodes_mm[body.tets[:, k]] for k in range(4))
    return np.einsum("ij,ij->i", b - a, np.cross(c - a, d - a)) / 6
