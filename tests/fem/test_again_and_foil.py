"""Firing again with an add-on over dense porcelain, sliding on a foil, and what is refused."""

import numpy as np
import pytest
from bodies import ball_shell, box

from firstbake.errors import BadSum
from firstbake.fem import Body, film_thickness_ratio, fire, free_length_ratio

DENSE = 0.98


def test_an_add_on_shrinks_as_a_film_over_dense_porcelain_that_stays():
    """A green layer over a dense one between planes of symmetry: the closed form of a film."""
    points, tets = box((2, 2, 8), (1.0, 1.0, 0.8))
    held = np.zeros((len(points), 3), bool)
    for axis in (0, 1):
        held[:, axis] = np.isin(points[:, axis], (0.0, 1.0))
    body = Body(points, tets, points[:, 2] == 0, held=held)
    green = points[tets].mean(axis=1)[:, 2] > 0.4
    density = np.where(green, 0.6, DENSE)
    end = (0.4 * DENSE + 0.4 * 0.6) / (0.4 + 0.4 * 0.6 / 0.95)  # the add-on at 95 %, the old layer as it was
    fired = fire(body, green_density=density, end_density=end, steps=8, dense_at=DENSE)
    seam = np.abs(points[:, 2] - 0.4) < 1e-9
    assert fired.nodes_mm[seam, 2].mean() == pytest.approx(
        0.4, abs=0.03
    )  # the seam's nodes average both layers
    top = fired.nodes_mm[points[:, 2] == 0.8, 2].mean()
    assert top - 0.4 == pytest.approx(0.4 * film_thickness_ratio(0.6, 0.95), abs=0.005)
    deep = points[:, 2] < 0.25
    assert np.abs(fired.displacement_mm[deep]).max() < 0.006


def test_a_flat_body_on_a_foil_shrinks_freely():
    points, tets = box((4, 4, 2), (2.0, 2.0, 0.6))
    bonded = points[:, 2] == 0
    normals = np.where(bonded[:, None], [[0.0, 0.0, 1.0]], 0.0)
    body = Body(points, tets, bonded, normals=normals)
    fired = fire(body, green_density=0.6, end_density=DENSE, slide=True)
    size = np.ptp(fired.nodes_mm, axis=0) / np.ptp(points, axis=0)
    assert size == pytest.approx(free_length_ratio(0.6, DENSE), abs=1e-4)
    stuck = fire(body, green_density=0.6, end_density=DENSE)
    assert np.ptp(stuck.nodes_mm[:, 0]) == pytest.approx(2.0, abs=1e-9)


def test_what_cannot_be_fired_is_refused():
    body, _ = ball_shell(1.5)
    with pytest.raises(BadSum, match="denser than the end"):
        fire(body, green_density=0.9, end_density=0.8)
    with pytest.raises(BadSum, match="must lie between"):
        fire(body, green_density=1.2, end_density=0.98)
    with pytest.raises(BadSum, match="shape"):
        fire(body, green_density=np.full(3, 0.6), end_density=0.98)
    with pytest.raises(BadSum, match=r"stops to shrink|turn over"):
        fire(body, green_density=0.6, end_density=0.98, dense_at=0.8)
    with pytest.raises(BadSum, match="foil"):
        fire(body, green_density=0.6, end_density=0.98, slide=True)
    with pytest.raises(BadSum, match="inside out"):
        Body(body.nodes_mm, body.tets[:, [1, 0, 2, 3]], body.bonded)
