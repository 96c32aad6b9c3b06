"""The plan's own crown cooled two ways, and what is said of it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from blocks import pair

import firstbake
from firstbake.case import Allowances, Case, Limits, NamedSurface, Target
from firstbake.cooling import (
    Crown,
    Place,
    ball_stress,
    band_of,
    band_words,
    bearable_MPa,
    by_place,
    cool_crown,
    descent_of,
    helps,
    solid_of_core,
    solid_of_powder,
    swell_of,
    worst_places,
)
from firstbake.errors import BadSum
from firstbake.fem import mesh_veneer
from firstbake.files import find_card, read_core, read_powder
from firstbake.layering import layer_up
from firstbake.room import measure_room
from firstbake.teeth import Tooth, find_frame, generate_crown, usual_sizes

BENCH, SLOW = descent_of(900.0, None, None), descent_of(900.0, 30.0, 550.0)


@pytest.fixture(scope="module")
def crown(tmp_path_factory):
    beside = tmp_path_factory.mktemp("empty")
    tooth = Tooth("11")
    made = generate_crown(tooth, usual_sizes(tooth), triangles=5000)
    cards = [
        read_powder(find_card(f"demo-{name}-1", kind="powder", beside=beside))
        for name in ("dentine", "enamel")
    ]
    case = Case(
        code="T",
        tooth=tooth,
        contour=NamedSurface("contour", made.contour),
        core=NamedSurface("core", made.core),
        neighbours=(),
        opposing=(),
        core_material=read_core(find_card("zirconia", kind="core", beside=beside)),
        core_wall_mm=0.5,
        powders=tuple(cards),
        target=Target(),
        allowances=Allowances(0.1, 0.15, 0.35),
        limits=Limits(0.6, 2.0, 0.3, 0.3, 0.5),
        landmarks=made.landmarks,
    )
    frame = find_frame(tooth, contour=made.contour, core=made.core, neighbours=(), landmarks=made.landmarks)
    room = measure_room(case, frame)
    layers = layer_up(case, frame, room)
    return Crown(case, frame, room, layers, mesh_veneer(made.contour, made.core, step_mm=0.9))


@pytest.fixture(scope="module")
def both(crown):
    return cool_crown(crown, BENCH), cool_crown(crown, SLOW)


def test_the_bench_pulls_more_inside_and_sets_hotter_than_the_muffle(both, crown):
    """Signs of Swain 2009, Acta Biomater 5:1668: fast cooling of thick porcelain on zirconia tempers it."""
    fast, slow = both
    inner = crown.room.veneered & (crown.room.margin_mm > 0.3)
    assert np.nanmedian(fast.inside_MPa[inner]) > 1.5 * np.nanmedian(slow.inside_MPa[inner])
    assert fast.cold.set_degC[0] > slow.cold.set_degC[1] + 20
    assert fast.cold.greatest_gap_K[0] > slow.cold.greatest_gap_K[0]
    assert fast.chance > slow.chance


def test_the_way_down_ends_cold_and_pulls_at_least_as_much_as_the_end(both):
    for cooled in both:
        assert cooled.cold.moments[-1].mean_degC == pytest.approx(25.0)
        assert (np.diff([m.time_s for m in cooled.cold.moments]) > 0).all()
        assert (cooled.cold.on_the_way_MPa >= cooled.cold.tension_MPa - 1e-9).all()


def test_values_stand_where_porcelain_is_and_nowhere_else(both, crown):
    for cooled in both:
        assert np.isfinite(cooled.surface_MPa[crown.room.veneered]).mean() > 0.99
        assert np.isnan(cooled.surface_MPa[~crown.room.veneered]).all()


def test_risks_say_what_their_figures_say(both):
    for cooled in both:
        assert {risk.kind for risk in cooled.risks} == {"surface", "inside", "lifting"}
        ratios = [risk.ratio for risk in cooled.risks]
        assert ratios == sorted(ratios, reverse=True)
        for risk in cooled.risks:
            assert risk.band == band_of(risk.pull_MPa / risk.bears_MPa)
            doubt = risk.doubt_MPa / risk.bears_MPa
            assert risk.doubt_band == (band_of(risk.ratio - doubt), band_of(risk.ratio + doubt))
            assert all(h.after_MPa < h.before_MPa for h in risk.helps)


def test_the_bench_is_told_to_cool_slowly(both):
    fast, slow = both
    words = [h.words for risk in fast.risks if risk.band == "high" for h in risk.helps]
    assert any("cool slowly" in w for w in words)
    assert all("fast cooling" in risk.drivers for risk in fast.risks)
    assert not any("fast cooling" in risk.drivers for risk in slow.risks)


def test_places_are_told_once_and_low_ones_not(both):
    risks = (replace(both[0].risks[0], where="elsewhere", band="low"), *both[0].risks)
    groups = by_place(risks)
    places = [group[0].where for group in groups]
    assert len(places) == len(set(places))
    assert all(risk.band != "low" for group in groups for risk in group)
    assert band_words(replace(groups[0][0], doubt_band=("watch", "high"))) == "watch to high"
    assert band_words(replace(groups[0][0], doubt_band=("high", "high"))) == "high"


def test_the_worst_places_lie_apart():
    points = np.array([[0.0, 0, 0], [1.0, 0, 0], [4.0, 0, 0], [9.0, 0, 0]])
    pull = np.array([20.0, 19.0, 15.0, np.nan])
    found = worst_places(points, pull, np.full(4, 1.0), kind="inside", toughness=0.8)
    assert [row for row, _ in found] == [0, 2]
    bears = float(bearable_MPa(1.0, toughness=0.8, shape="channelling"))
    assert found[0][1] == pytest.approx(20.0 / bears)
    calm = worst_places(points, 0.1 * pull, np.full(4, 1.0), kind="inside", toughness=0.8)
    assert [row for row, _ in calm] == [0]


def test_a_change_is_what_the_round_shell_says_of_it():
    veneer, core = pair()
    place = Place(1.5, 0.5, 3.5)
    swell = swell_of(place, veneer, core, way=BENCH)
    offered = {h.words: h for h in helps("inside", place, veneer, core, way=BENCH, swell=swell)}
    assert "cool slowly in the shut muffle" in offered
    sizes = {"inner_mm": 3.5, "wall_mm": 0.5, "thickness_mm": 1.5, "start_degC": 900.0, "fall_K": 10.0}
    slowly = ball_stress(veneer, core, descent_of(900.0, 30.0, 500.0).legs, **sizes)
    assert offered["cool slowly in the shut muffle"].after_MPa == pytest.approx(slowly.hoop_MPa[:-1].max())
    more = replace(veneer, expansion_ppm_per_K=veneer.expansion_ppm_per_K + 1.0)
    moved = ball_stress(more, core, BENCH.legs, **sizes)
    assert swell.now_MPa["lifting"] + swell.per_veneer["lifting"] == pytest.approx(moved.radial_MPa[0])


def test_without_a_mesh_there_is_no_answer(crown):
    with pytest.raises(BadSum, match="could not be meshed"):
        cool_crown(replace(crown, mesh=None), SLOW)


def test_no_card_of_the_shelf_leaves_heat_or_stress_to_a_guess():
    shelf = Path(firstbake.__file__).parent / "shelf"
    for card in sorted((shelf / "powders").glob("*.toml")):
        assert solid_of_powder(read_powder(card)).assumed == (), card.name
        assert {"toughness_MPa_sqrt_m", "strength_MPa", "weibull_modulus"} <= set(read_powder(card).thermal)
    for card in sorted((shelf / "cores").glob("*.toml")):
        assert solid_of_core(read_core(card)).assumed == (), card.name


def test_what_a_card_lacks_is_named(crown):
    powder = crown.case.powders[0]
    bare = replace(powder, thermal={k: v for k, v in powder.thermal.items() if k != "stiffness_GPa"})
    assert solid_of_powder(bare).assumed == ("stiffness_GPa",)


def test_tougher_porcelain_bears_more(crown, both):
    layers = crown.layers.layers
    tougher = replace(layers[0].powder.thermal["toughness_MPa_sqrt_m"], value=1.6, low=1.5, high=1.7)
    changed = [
        replace(x, powder=replace(x.powder, thermal={**x.powder.thermal, "toughness_MPa_sqrt_m": tougher}))
        for x in layers
    ]
    again = cool_crown(replace(crown, layers=replace(crown.layers, layers=tuple(changed))), SLOW)
    worst, now = both[1].risks[0], again.risks[0]
    assert now.ratio == pytest.approx(worst.ratio / 2, rel=1e-9)
    assert now.pull_MPa == pytest.approx(worst.pull_MPa, rel=1e-12)
