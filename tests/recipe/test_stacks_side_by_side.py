"""Stacks of different powders in one array: the same colours as one by one, and exact slopes."""

from dataclasses import replace

import numpy as np
import pytest
from hidden import END, GEOMETRY, ZONES, ingredient, secret, sixty_sets
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from firstbake.colour import LowerEnd, delta_e00, free_ground, labs_of, stack_of
from firstbake.powder import parametric_optics
from firstbake.recipe import SLOTS, Asked, Ingredient, PowderSet, search
from firstbake.recipe.batch import batch_of, labs, labs_and_slopes
from firstbake.recipe.grid import Tables, choices_of, grid_labs
from firstbake.recipe.polish import metric_of, polish
from firstbake.recipe.robust import expected_difference, scatter_of

CORE_END = LowerEnd(np.linspace(0.6, 0.75, 31), 2.2)
OTHER = parametric_optics(30.0, 0.5, 0.05, 8.0, index=1.56, source="invented for this test")
LINER = Ingredient("liner", "liner", OTHER, 0.05, 0.15)
FULL = PowderSet(
    (LINER, *(ingredient(n) for n in ("opaque mid", "dentine 3", "enamel mid", "transparent opal")))
)
TWO = PowderSet((ingredient("dentine 1"), ingredient("enamel light")))
FREE = Asked("incisal", (72.0, 0.0, 9.0), 1.6, free_ground().end, None, True, 0.4)
OVER = Asked("body", (75.0, 2.0, 17.0), 1.2, CORE_END)
SLOTS_MM = np.array([[0.1, 0.15, 0.0, 0.5, 0.3, 0.15], [0.0, 0.0, 0.0, 0.7, 0.5, 0.0]])


def one_by_one(asked: Asked, layers: list[tuple[Ingredient, float]]) -> np.ndarray:
    stack = stack_of([i.optics for i, _ in layers], asked.end)
    return labs_of(stack, np.array([[mm for _, mm in layers]]), geometry=GEOMETRY)[0]


def test_stacks_side_by_side_have_the_colours_of_the_fast_sums_one_by_one() -> None:
    found = labs(batch_of([(OVER, FULL), (OVER, TWO)], geometry=GEOMETRY), SLOTS_MM)
    liner, opaque, dentine, enamel, clear = FULL.ingredients
    full = [(liner, 0.1), (opaque, 0.15), (dentine, 0.5), (enamel, 0.3), (clear, 0.15)]
    two = [(TWO.ingredients[0], 0.7), (TWO.ingredients[1], 0.5)]
    # the fast sums are within 0.001 of the exact ones
    assert np.allclose(found, [one_by_one(OVER, full), one_by_one(OVER, two)], atol=0.004)


def test_at_a_free_edge_enamel_and_transparent_lie_on_both_sides_and_coats_are_left_out() -> None:
    found = labs(batch_of([(FREE, FULL)], geometry=GEOMETRY), SLOTS_MM[:1])[0]
    _, _, dentine, enamel, clear = FULL.ingredients
    edge = [(clear, 0.06), (enamel, 0.12), (dentine, 0.5), (enamel, 0.18), (clear, 0.09)]
    assert np.allclose(found, one_by_one(FREE, edge), atol=0.004)


@pytest.mark.parametrize("asked", [OVER, FREE])
def test_slopes_agree_with_finite_differences(asked: Asked) -> None:
    batch = batch_of([(asked, FULL), (asked, TWO)], geometry=GEOMETRY)
    _, places = labs_and_slopes(batch, SLOTS_MM)
    slope = batch.slots_slope(places)
    for powders, row in ((FULL, 0), (TWO, 1)):
        for i in powders.ingredients:
            if asked.free and i.role in ("liner", "opaque"):
                continue
            step = np.zeros_like(SLOTS_MM)
            step[row, SLOTS.index(i.role)] = 1e-5
            finite = (labs(batch, SLOTS_MM + step) - labs(batch, SLOTS_MM - step))[row] / 2e-5
            assert np.allclose(slope[row, SLOTS.index(i.role)], finite, rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("asked", [OVER, replace(FREE, room_mm=1.75)])
def test_the_grid_fills_the_room_within_the_limits_and_looks_up_true_colours(asked: Asked) -> None:
    tables = Tables()
    batch = batch_of([(asked, TWO), (asked, FULL)], geometry=GEOMETRY)
    for row, powders in enumerate((TWO, FULL)):
        choices = choices_of(asked, powders, tables)
        slots = choices.slots_mm
        assert len(slots) > 5
        assert np.allclose(slots.sum(axis=1), asked.room_mm, atol=1e-9)
        for i in powders.ingredients:
            mm = slots[:, SLOTS.index(i.role)]
            present = mm[mm > 0]
            assert present.size == 0 or present.min() >= i.least_mm - 1e-9
            assert present.size == 0 or present.max() <= i.most_mm + 1e-9
        found = grid_labs(batch, row, asked=asked, powders=powders, choices=choices, tables=tables)
        many = batch.rows(np.full(len(slots), row))
        assert np.allclose(found, labs(many, slots), atol=1e-9)


def test_the_local_measure_is_the_squared_difference_near_the_target() -> None:
    targets = np.array([[74.0, 2.0, 18.0], [60.0, -3.0, -8.0], [80.0, 6.0, 25.0]])
    step = np.array([[0.03, -0.05, 0.04]])
    square = np.einsum("i,pij,j->p", step[0], metric_of(targets), step[0])
    assert np.allclose(square, delta_e00(targets + step, targets) ** 2, rtol=0.03)


def slsqp(asked: Asked, powders: PowderSet, start: np.ndarray) -> float:
    """Least difference scipy's SLSQP finds for the same zone, colours from the fast sums of colour."""
    batch = batch_of([(asked, powders)], geometry=GEOMETRY)
    used = [SLOTS.index(i.role) for i in powders.ingredients]

    def square(mm: np.ndarray) -> float:
        slots = np.zeros((1, len(SLOTS)))
        slots[0, used] = mm
        return float(delta_e00(labs(batch, slots)[0], asked.target) ** 2)

    found = minimize(
        square,
        start[used],
        method="SLSQP",
        bounds=[(i.least_mm, i.most_mm) for i in powders.ingredients],
        constraints={"type": "eq", "fun": lambda mm: mm.sum() - asked.room_mm},
        options={"ftol": 1e-10, "maxiter": 200},
    )
    return float(np.sqrt(found.fun))


def test_the_search_comes_as_near_as_slsqp_from_several_starts() -> None:
    sets = sixty_sets()
    draw = np.random.default_rng(5)
    for powders in (sets[0], sets[23], sets[44], sets[57]):
        for target in ((75.0, 2.0, 16.0), (72.0, 4.0, 21.0), (68.0, 4.0, 24.0)):
            asked = Asked("body", target, 1.2, END)
            (found,) = search((asked,), [powders], geometry=GEOMETRY)
            truth = np.inf
            for _ in range(3):
                start = np.zeros(6)
                start[[1, 4, 5]] = draw.uniform(0.1, 0.25), draw.uniform(0.2, 0.4), draw.uniform(0.05, 0.2)
                start[3] = 1.2 - start.sum()
                truth = min(truth, slsqp(asked, powders, start))
            assert found.zones[0].nearest_delta_e00 <= truth + 0.02


def test_the_polish_keeps_room_and_limits() -> None:
    sets = sixty_sets()
    least, most = np.zeros((2, len(sets), 6))
    starts = np.tile([0.0, 0.15, 0.0, 0.6, 0.3, 0.15], (len(sets), 1))
    for row, powders in enumerate(sets):
        for i in powders.ingredients:
            least[row, SLOTS.index(i.role)], most[row, SLOTS.index(i.role)] = i.least_mm, i.most_mm
    batch = batch_of([(replace(OVER, end=END), powders) for powders in sets], geometry=GEOMETRY)
    targets = np.tile([72.0, 4.0, 21.0], (len(sets), 1))
    found = polish(batch, starts, targets=targets, least_mm=least, most_mm=most)
    assert np.allclose(found.sum(axis=1), 1.2, atol=1e-9)
    assert (found >= least - 1e-9).all()
    assert (found <= most + 1e-9).all()
    before, after = (delta_e00(labs(batch, slots), targets) for slots in (starts, found))
    assert (after <= before + 1e-12).all()
    assert (after < before - 0.05).mean() > 0.9


def test_expected_difference_agrees_with_layering_that_scatters_at_random() -> None:
    # an independent sum: thousands of stacks with shifted boundaries, the outer form fixed
    powders = PowderSet(FULL.ingredients[1:])
    slots = np.array([[0.0, 0.2, 0.0, 0.6, 0.3, 0.2]])
    asked = replace(OVER, room_mm=1.3)
    batch = batch_of([(asked, powders)], geometry=GEOMETRY)
    lab, places = labs_and_slopes(batch, slots)
    draw = np.random.default_rng(1)
    shift = draw.normal(0.0, 0.05, (4000, 3))
    many = np.repeat(slots, 4000, axis=0)
    for boundary, (below, above) in enumerate(((1, 3), (3, 4), (4, 5))):
        many[:, below] += shift[:, boundary]
        many[:, above] -= shift[:, boundary]
    seen = labs(batch.rows(np.zeros(4000, dtype=np.int64)), np.maximum(many, 0.0))
    for off in (0.0, 0.7, 2.0):
        target = lab + np.array([[off, 0.0, off / 2]])
        truth = float(delta_e00(seen, target).mean())
        covariance = scatter_of(batch.layers_mm(slots), places)
        assert float(expected_difference(lab, target, covariance)[0]) == pytest.approx(truth, rel=0.08)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_a_secret_layering_of_known_powders_is_found_by_polishing_from_the_grid(seed: int) -> None:
    sets = sixty_sets()
    true, zones = secret(seed, sets)
    (found,) = search(zones, [sets[true]], geometry=GEOMETRY)
    assert found.worst_delta_e00 < 0.3
    assert tuple(fit.asked.zone for fit in found.zones) == ZONES
