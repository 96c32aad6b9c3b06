"""The two-flux engine and its doubt against a full solution of radiative transfer (many_streams)."""

from functools import cache

import many_streams as full
import numpy as np
import pytest

from firstbake.colour import LowerEnd, across, delta_e00, grid_nm, lab_from_reflectance, outer_face
from firstbake.colour.doubt import doubt_of
from firstbake.colour.ground import Ground, free_ground
from firstbake.colour.recipe import Recipe, lab_of
from firstbake.powder import Optics

GEOMETRY = "d/8 specular excluded"
FACE = outer_face(full.INDEX, GEOMETRY)
NM = grid_nm()
# reduced scattering at 550 nm in 1/mm, its exponent, grey and blue absorption in 1/mm: the orders of size of
# dentine, enamel and clear porcelain, invented; g = 0.85
KINDS = {
    "dentine": (4.0, 0.9, 0.021, 0.83),
    "enamel": (1.4, 1.3, 0.018, 0.10),
    "clear": (0.33, 1.5, 0.0067, 0.029),
}
TILES = (FACE.internal(0.03), FACE.internal(0.87))
MOUTH = 0.05


def matter(name: str) -> full.Matter:
    reduced, exponent, grey, blue = KINDS[name]
    scattering = reduced / (1.0 - 0.85) * (550.0 / NM) ** exponent
    return full.Matter(grey + blue * np.exp(-(NM - 400.0) / 60.0), scattering, 0.85)


@cache
def optics(name: str) -> Optics:
    """K and S as a laboratory would find them: 1 mm on black and white tile in contact, faces taken off."""
    layer = full.slab(matter(name), 1.0)
    black, white = (
        FACE.internal(full.seen(full.over(layer, full.even_ground(np.full(31, t))))) for t in TILES
    )
    on_black, on_white = (float(t) for t in TILES)
    a = ((white - on_white) * (1 + black * on_black) - (black - on_black) * (1 + white * on_white)) / (
        2 * (white * on_black - black * on_white)
    )
    b = np.sqrt(a * a - 1)
    s = np.arctanh(b * (black - on_black) / (1 - a * (black + on_black) + black * on_black)) / b
    return Optics(NM, s * (a - 1), s, full.INDEX, "measured", "simulated for this test")


def true_lab(layers: list[tuple[str, float]], ground: np.ndarray) -> np.ndarray:
    for name, mm in layers:
        ground = full.over(full.slab(matter(name), mm), ground)
    return lab_from_reflectance(full.seen(ground))


def recipe(layers: list[tuple[str, float]], ground: Ground) -> Recipe:
    return Recipe(tuple(optics(name) for name, _ in layers), tuple(mm for _, mm in layers), ground, GEOMETRY)


def test_the_solver_gives_the_printed_slab_and_half_space() -> None:
    # van de Hulst's slab a = 0.9, depth 2, g = 0.75, no faces: R 0.09739, T 0.66096; Giovanelli's half-space
    # a = 0.9, isotropic, index 1.5: 0.2600 with the mirror part (both as quoted by Prahl et al. 1993)
    r, t = full.slab(full.Matter(np.array([0.2]), np.array([1.8]), 0.75), 1.0)
    assert float(r[0, -1].sum()) == pytest.approx(0.09739, abs=2e-4)
    assert float(t[0, -1].sum()) == pytest.approx(0.66096, abs=2e-4)
    deep, _ = full.slab(full.Matter(np.array([0.1]), np.array([0.9]), 0.0), 60.0)
    assert 0.04 + float(full.seen(deep)[0]) == pytest.approx(0.2600, abs=2e-4)


def test_the_solver_loses_no_light_without_absorption() -> None:
    r, t = full.slab(full.Matter(np.array([0.0]), np.array([25.0]), 0.85), 0.7)
    out = full.FLUX @ (r[0] + t[0])
    assert out[:-1] == pytest.approx(full.FLUX[:-1], rel=1e-6)


BODIES = [
    [("dentine", 1.0), ("enamel", 0.5)],
    [("dentine", 0.6), ("enamel", 0.6)],
    [("dentine", 0.8), ("enamel", 0.3), ("clear", 0.3)],
    [("dentine", 0.5), ("enamel", 0.8), ("clear", 0.3)],
    [("dentine", 0.3), ("enamel", 1.0), ("clear", 0.4)],
]


@pytest.mark.parametrize("layers", BODIES)
def test_body_stacks_over_a_core_are_within_0_8(layers: list[tuple[str, float]]) -> None:
    # an opaque white core, 0.45 as measured in air, index 2.2, seen from inside the porcelain
    inside = across(
        outer_face(2.2, GEOMETRY).internal(np.full(31, 0.45)), index_beneath=2.2, index_above=full.INDEX
    )
    core = Ground(None, 0.0, LowerEnd(inside, None), "core", None, False)
    found = recipe(layers, core)
    miss = float(delta_e00(lab_of(found), true_lab(layers, full.even_ground(inside))))
    assert miss < 0.8
    assert miss < doubt_of(found, free=False)


EDGES = [
    [("dentine", 0.5), ("enamel", 0.8), ("clear", 0.3)],
    [("dentine", 0.8), ("enamel", 0.8), ("clear", 0.2)],
    [("dentine", 0.4), ("enamel", 0.3), ("clear", 0.2)],
    [("enamel", 1.2), ("clear", 0.4)],
    [("enamel", 0.5)],
    [("enamel", 1.0)],
    [("enamel", 2.0)],
    [("enamel", 0.5), ("dentine", 0.3), ("enamel", 0.6)],
    [("clear", 1.0)],
]


@pytest.mark.parametrize("layers", EDGES)
def test_the_doubt_covers_the_difference_at_a_free_edge(layers: list[tuple[str, float]]) -> None:
    found = recipe(layers, free_ground(MOUTH))
    miss = float(delta_e00(lab_of(found), true_lab(layers, full.free_face(MOUTH, 31))))
    assert miss < doubt_of(found, free=True)
