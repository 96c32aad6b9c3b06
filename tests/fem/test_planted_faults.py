"""Each fault that could be planted in the element is big enough for the checks to see."""

import sys

import numpy as np
import pytest
from bodies import ball_shell, film
from round_shells import sure_radius

from firstbake.fem import Body, NodeAveraged, film_porosity, fire
from firstbake.fem.law import bulk_viscosity


class Locking(NodeAveraged):
    """Plain linear tetrahedra: one volume constraint an element."""

    def blocks(self, volumes, gradients, porosity):
        blocks = super().blocks(volumes, gradients, porosity)
        bulk = bulk_viscosity(porosity)[self.tets].mean(axis=1)
        cells = np.zeros((len(self.tets), 4, 4, 4, 4))
        cells[:, :, :3, :, :3] = np.einsum("e,eai,ebj->eaibj", bulk * volumes, gradients, gradients)
        blocks[:3, 3] = blocks[3, :3] = 0
        return blocks + self.unknowns.summed(cells.reshape(-1, 16, 16))


class NoVolumeTerm(NodeAveraged):
    """The bulk viscosity left out: pressures fixed at almost nothing."""

    def blocks(self, volumes, gradients, porosity):
        blocks = super().blocks(volumes, gradients, porosity)
        blocks[3, 3] *= 1e3
        return blocks


class WrongBulk(NodeAveraged):
    """Bulk viscosity five times too small."""

    def blocks(self, volumes, gradients, porosity):
        blocks = super().blocks(volumes, gradients, porosity)
        blocks[3, 3] *= 5
        return blocks


@pytest.fixture(scope="module")
def exact_mm():
    return sure_radius(3.0, 4.5, green=0.6, end=0.98, turns=2)


def miss_um(exact_mm, *, bonded=True):
    body, free = ball_shell(0.9)
    if not bonded:
        loose = np.zeros_like(body.bonded)
        loose[np.flatnonzero(body.bonded)[:3]] = True
        body = Body(body.nodes_mm, body.tets, loose)
    fired = fire(body, green_density=0.6, end_density=0.98)
    miss = (np.linalg.norm(fired.nodes_mm[free], axis=1) - exact_mm) * 1e3
    return max(np.abs(miss).max() / 7, abs(miss.mean()) / 3)


def test_the_sound_element_passes(exact_mm):
    assert miss_um(exact_mm) < 1.3  # the finer mesh of test_round_shells passes at 1


@pytest.mark.parametrize("fault", [Locking, NoVolumeTerm])
def test_a_planted_fault_shows(fault, exact_mm, monkeypatch):
    monkeypatch.setattr(sys.modules["firstbake.fem.fire"], "NodeAveraged", fault)
    assert miss_um(exact_mm) > 1.5


def test_an_unbonded_core_shows(exact_mm):
    assert miss_um(exact_mm, bonded=False) > 10


def test_a_wrong_bulk_viscosity_shows_in_the_time_of_a_film(monkeypatch):
    """The shape hardly depends on it; the logit law of the film does."""
    body = film()

    def miss():
        fired = fire(body, green_density=0.6, end_density=0.95, steps=16)
        return abs(film_porosity(0.4, fired.tau) / 0.05 - 1)

    assert miss() < 0.01
    monkeypatch.setattr(sys.modules["firstbake.fem.fire"], "NodeAveraged", WrongBulk)
    assert miss() > 0.2
