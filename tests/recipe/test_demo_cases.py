"""The invented demo cases in kind: a dark stump, a liner that brings the neck back, a canine out of reach."""

import numpy as np
import pytest
from hidden import GEOMETRY, optics_of, sixty_sets

from firstbake.colour import ORDINARY_STUMP, Ground, LowerEnd, delta_e00
from firstbake.colour.ground import stump_end
from firstbake.powder import parametric_optics
from firstbake.recipe import SLOTS, Asked, Ingredient, PowderSet, in_order, limits_of, search, verdict_of
from firstbake.recipe.batch import batch_of, labs
from firstbake.recipe.find import end_of

DENTAL = "45/0"
DARK, CANINE = (52.0, 6.0, 20.0), (62.0, 5.0, 22.0)
# invented: a translucent white core and a strongly coloured liner
CORE = parametric_optics(12.0, 0.6, 0.03, 0.9, kg_per_mm=0.01, index=2.2, source="invented for this test")
LINER = Ingredient(
    "liner", "liner", parametric_optics(25.0, 0.5, 0.065, 10.6, source="invented for this test"), 0.05, 0.15
)
ENAMEL = Ingredient("enamel", "enamel", optics_of("enamel mid"), 0.15, 0.9)


def dentine(number: str) -> Ingredient:
    return Ingredient(f"dentine {number}", "dentine", optics_of(f"dentine {number}"), 0.2, 5.0)


def over(stump: tuple[float, float, float]) -> LowerEnd:
    return end_of(Ground(CORE, 0.5, stump_end(stump, geometry=DENTAL), "core", stump, False))


def neck(stump: tuple[float, float, float], target: tuple[float, float, float]) -> Asked:
    return Asked("cervical", target, 0.6, over(stump), over(ORDINARY_STUMP))


TWO, WITH_LINER = PowderSet((dentine("3"), ENAMEL)), PowderSet((LINER, dentine("3"), ENAMEL))


def habit(stump: tuple[float, float, float]) -> np.ndarray:
    slots = np.zeros((1, len(SLOTS)))
    slots[0, 3:5] = 0.4, 0.2
    return labs(batch_of([(neck(stump, (0.0, 0.0, 0.0)), TWO)], geometry=DENTAL), slots)[0]


def test_a_dark_stump_makes_the_thin_neck_less_red_and_yellow() -> None:
    usual, dark = habit(ORDINARY_STUMP), habit(DARK)
    assert dark[1] < usual[1] - 0.4
    assert dark[2] < usual[2] - 0.4
    assert float(delta_e00(dark, usual)) > 0.8


def test_two_powders_miss_the_neck_over_the_dark_stump_and_a_liner_brings_it_back() -> None:
    target = tuple(habit(ORDINARY_STUMP))
    asked = neck(DARK, target)
    found = {
        ranked.powders: ranked.zones[0] for ranked in search((asked,), (TWO, WITH_LINER), geometry=DENTAL)
    }
    plain, liner = found[TWO], found[WITH_LINER]
    assert verdict_of(plain.delta_e00) != "reached"
    assert plain.lab[1] < target[1]
    assert plain.lab[2] < target[2]
    assert verdict_of(liner.delta_e00) == "reached"
    assert liner.stump_delta_e00 < plain.stump_delta_e00
    limits, choices = limits_of(plain, (TWO, WITH_LINER), geometry=DENTAL, zone="neck")
    assert "stump" in [limit.what for limit in limits]
    assert any("liner" in choice for choice in choices)


def test_the_canine_neck_answers_not_reached_with_choices() -> None:
    asked = neck(CANINE, (72.8, 3.6, 22.5))
    sets = [PowderSet((*coat, dentine(n), ENAMEL)) for n in "12" for coat in ((), (LINER,))]
    best = in_order(search((asked,), sets, geometry=DENTAL))[0].zones[0]
    assert verdict_of(best.delta_e00) == "not reached"
    assert best.lab[0] > asked.target[0]
    limits, choices = limits_of(best, sets, geometry=DENTAL, zone="neck")
    assert {"lightness", "chroma"} <= {limit.what for limit in limits}
    assert all(limit.delta_e00 < best.delta_e00 for limit in limits)
    assert any(choice.startswith("Ask the dentist whether the neck may be lighter") for choice in choices)
    assert any("stain" in choice for choice in choices)


def test_a_light_core_in_little_room_is_limited_by_room_and_more_of_it_is_named_in_mm() -> None:
    # the target needs room over a dark core: 2.0 in 0.6 mm, 0.4 from 0.8 mm on in the reference's experiment
    asked = Asked("body", (80.0, 0.0, 14.0), 0.6, LowerEnd(np.full(31, 0.20), 1.5))
    sets = sixty_sets()
    fit = in_order(search((asked,), sets, geometry=GEOMETRY))[0].zones[0]
    assert fit.delta_e00 == pytest.approx(2.0, abs=0.25)
    limits, choices = limits_of(fit, sets, geometry=GEOMETRY, zone="middle")
    room = next(limit for limit in limits if limit.what == "room")
    assert room.delta_e00 < 0.8
    assert choices[0].startswith(("0.1 mm", "0.2 mm"))
    assert "core" in [limit.what for limit in limits]
    assert not any("stain" in choice for choice in choices), "stain cannot lighten"


def test_a_metal_or_dark_ground_that_cannot_be_covered_is_never_called_reached() -> None:
    asked = Asked("body", (80.0, 0.0, 14.0), 0.55, LowerEnd(np.full(31, 0.05), None))
    for ranked in search((asked,), sixty_sets(), geometry=GEOMETRY):
        assert verdict_of(ranked.zones[0].delta_e00) != "reached"
