"""Figures that stand in for what a card leaves out."""

import pytest

from firstbake.errors import BadCard
from firstbake.powder import ROLES, Figure, layer_of_role, least_of_role, pore_liquid


@pytest.mark.parametrize("role", ROLES)
def test_every_role_has_a_least_thickness_with_a_source(role: str) -> None:
    least = least_of_role(role)
    assert least.unit == "mm"
    assert 0.0 < least.value <= 0.5
    assert least.status == "common practice"
    assert least.source


@pytest.mark.parametrize("role", ROLES)
def test_a_thin_layer_is_never_thinner_than_what_works(role: str) -> None:
    layer = layer_of_role(role)
    assert (layer is None) == (role in ("dentine", "enamel", "margin"))
    assert layer is None or layer.value >= least_of_role(role).value


def test_an_unknown_role_is_refused_by_name() -> None:
    with pytest.raises(BadCard, match='role "paint" is not one of liner'):
        least_of_role("paint")


@pytest.mark.parametrize(("green", "ml"), [(0.55, 0.334), (0.60, 0.272), (0.65, 0.220)])
def test_liquid_fills_the_pores(green: float, ml: float) -> None:
    # Mass balance by hand: 1 g of solid at 2.45 g/cm3 is 0.40816 ml; pores are (1 - g)/g of that.
    solid = Figure(2.45, "g/cm3", "demo", "test")
    liquid = pore_liquid(Figure(green, "1", "measured", "own coupon"), solid)
    assert liquid.value == pytest.approx(ml, abs=5e-4)
    assert (liquid.unit, liquid.status) == ("ml/g", "measured")
    assert "own coupon" in liquid.source
