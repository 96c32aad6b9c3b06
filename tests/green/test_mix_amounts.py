"""Grams and millilitres on the slab."""

import numpy as np
import pytest
from conftest import ball, made, powder

from firstbake.errors import BadCase
from firstbake.green import mix_of


def test_amounts_of_a_central_incisor():
    # Worked by hand: 168 mm3 fired at 2.4 g/cm3 are 0.40 g; with 12 % to grind off 0.45 g are placed, and
    # 0.70 g mixed when 35 % stay on the slab. The 12 % are given as the layer that has this volume.
    core = ball(4.0)
    outer = np.cbrt(64 + 168 * 3 / (4 * np.pi))
    contour = ball(outer, 5)
    extra = np.cbrt(64 + 1.12 * 168 * 3 / (4 * np.pi)) - outer
    kit = (powder("dentine", fired=2.4 / 2.45),)
    m = made(contour, core, kit, grind_off=float(extra), waste=0.35)
    (mix,) = mix_of(m.case, m.layers)
    assert mix.placed_g == pytest.approx(0.45, abs=0.005)
    assert mix.powder_g == pytest.approx(0.70, abs=0.01)
    assert mix.powder_g == pytest.approx(mix.placed_g / 0.65, rel=1e-12)
    assert mix.liquid_ml == pytest.approx(0.3 * mix.powder_g)
    assert (mix.cost, mix.currency) == (pytest.approx(2.0 * mix.powder_g), "EUR")


def test_placed_mass_is_the_fired_mass():
    kit = powder("dentine"), powder("enamel", fired=0.97)
    m = made(ball(4.0), ball(3.0), kit, shares=(0.7, 0.3))
    fired = [la.volume_mm3 * 1e-3 * la.powder.fired_density_g_per_cm3 for la in m.layers.layers]
    assert [x.placed_g for x in mix_of(m.case, m.layers)] == pytest.approx(fired, rel=1e-12)
    assert [x.role for x in mix_of(m.case, m.layers)] == ["dentine", "enamel"]


def test_powder_without_a_price_has_no_cost():
    plain = powder()
    free = type(plain)(**{**vars(plain), "price_per_g": None})
    m = made(ball(4.0), ball(3.0), (free,))
    assert mix_of(m.case, m.layers)[0].cost is None


def test_all_on_the_slab_is_refused():
    m = made(ball(4.0), ball(3.0), (powder(),), waste=1.0)
    with pytest.raises(BadCase, match="slab_waste"):
        mix_of(m.case, m.layers)


def test_dentine_is_laid_for_the_full_contour_and_comes_off_again():
    cut = ball(3.6)
    m = made(
        ball(4.0), ball(3.0), (powder("dentine"), powder("enamel")), shares=(0.6, 0.4), cut_back=cut,
        cut_volume=cut.volume_mm3 - ball(3.0).volume_mm3, margin_z_mm=0.0, waste=0.35,
    )  # fmt: skip
    dentine, enamel = mix_of(m.case, m.layers)
    # same packing and density: what is cut off weighs what enamel will weigh in its place
    assert dentine.cut_off_g == pytest.approx(enamel.placed_g, rel=1e-9)
    assert dentine.lay_g == pytest.approx(dentine.placed_g + enamel.placed_g, rel=1e-9)
    assert enamel.cut_off_g == 0
    assert dentine.powder_g == pytest.approx(dentine.lay_g / (1 - m.case.allowances.slab_waste))
