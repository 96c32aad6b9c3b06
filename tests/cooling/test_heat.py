"""Conduction against the series for a slab that loses heat through both faces."""

import numpy as np
import pytest
from blocks import box
from scipy.optimize import brentq

from firstbake.cooling import Conduction
from firstbake.fem import outer_faces

L_MM, K_W, HEAT, H_W = 1.0, 1.2, 2.45e-6 * 900, 600.0  # half thickness; W/mK; J/mm³K; W/m²K
START, ROOM = 600.0, 25.0


def series(x_mm, t_s):
    """Carslaw and Jaeger 1959, Conduction of Heat in Solids, 3.11: slab, surfaces losing heat, even start."""
    biot, diffusivity = H_W * 1e-6 * L_MM / (K_W * 1e-3), K_W * 1e-3 / HEAT
    total = 0.0
    for n in range(60):
        b = brentq(lambda z: z * np.sin(z) - biot * np.cos(z), n * np.pi + 1e-12, (n + 0.5) * np.pi - 1e-12)
        part = 2 * np.sin(b) / (b + np.sin(b) * np.cos(b))
        total += part * np.exp(-(b**2) * diffusivity * t_s / L_MM**2) * np.cos(b * x_mm / L_MM)
    return ROOM + (START - ROOM) * total


def miss_K(cells, steps, end_s=0.8):
    """Greatest difference along the middle line at the end, from the series' own state at 0.2 s on."""
    nodes, tets = box((L_MM, 2 * L_MM / cells, 2 * L_MM / cells), (cells, 2, 2))
    faces = outer_faces(tets)[0]
    skin = faces[(nodes[faces][:, :, 0] > L_MM - 1e-9).all(axis=1)]
    body = Conduction(nodes, tets, skin=skin, conductivity_W_per_mK=np.full(len(tets), K_W))
    degC = series(nodes[:, 0], 0.2)
    for _ in range(steps):
        degC = body.stepped(
            degC,
            (end_s - 0.2) / steps,
            heat_J_per_mm3K=np.full(len(tets), HEAT),
            coefficient_W_per_m2K=H_W,
            ambient_degC=(ROOM, ROOM, ROOM),
        )
    return float(np.abs(degC - series(nodes[:, 0], end_s)).max())


def test_a_slab_follows_the_series():
    assert miss_K(16, 16) < 0.2  # of 575 K


def test_steps_in_space_and_time_converge_with_second_order():
    coarse, fine = miss_K(8, 6), miss_K(16, 12)
    assert np.log2(coarse / fine) > 1.8


def test_no_heat_is_lost_where_nothing_cools():
    nodes, tets = box((1.0, 1.0, 1.0), (3, 3, 3))
    body = Conduction(
        nodes, tets, skin=np.zeros((0, 3), dtype=np.int64), conductivity_W_per_mK=np.full(len(tets), 1.2)
    )
    heat = np.full(len(tets), HEAT)
    degC = 600 + 100 * nodes[:, 0]
    stored = np.bincount(tets.ravel(), np.repeat(body.volumes_mm3 / 4, 4))
    after = body.stepped(
        degC, 0.5, heat_J_per_mm3K=heat, coefficient_W_per_m2K=60.0, ambient_degC=(25.0, 25.0, 25.0)
    )
    assert stored @ after == pytest.approx(stored @ degC, rel=1e-12)
    assert np.ptp(after) < np.ptp(degC)
