"""The calliper table measures what a ceramist would."""

import numpy as np
import pytest
from conftest import ball, figure, made, powder

from firstbake.green import column_green, measure_callipers
from firstbake.green.callipers import density_doubt
from firstbake.green.gauge import Gauge, X, Y, Z


def table_of(m):
    green = column_green(m.case, m.room, layers=m.layers)
    return {c.name: c for c in measure_callipers(m.case, m.frame, layers=m.layers, green=green)}, green


def egg(**more):
    """Ellipsoid 8 x 6 x 10 mm over a ball of radius 2.4, margin at its equator, so the crown is 5 mm high."""
    return made(ball(1.0, scale=(4, 3, 5)), ball(2.4), (powder(),), margin_z_mm=0.0, **more)


def test_fired_lengths_of_an_ellipsoid_are_its_own():
    table, _ = table_of(egg())
    assert table["length, labial margin to incisal edge"].fired_mm == pytest.approx(5.0, abs=1e-6)
    for third, share in (("cervical", 1 / 6), ("middle", 1 / 2), ("incisal", 5 / 6)):
        # section of an ellipsoid at height share * c: half axes times sqrt(1 - share²)
        rest = np.sqrt(1 - share**2)
        assert table[f"mesiodistal, {third} third"].fired_mm == pytest.approx(8 * rest, rel=0.006)
        assert table[f"labiopalatal, {third} third"].fired_mm == pytest.approx(6 * rest, rel=0.006)
    thick = table["incisal edge thickness, 1.5 mm below the edge"].fired_mm
    assert thick == pytest.approx(6 * np.sqrt(1 - 0.7**2), rel=0.003)
    assert table["incisal edge overbuild"].fired_mm == 0.0


def test_green_lengths_of_a_shell_are_the_closed_form():
    m = made(ball(4.0), ball(3.0), (powder(),), margin_z_mm=0.0)
    table, _ = table_of(m)
    radius = np.cbrt(27 + 0.98 / 0.60 * (64 - 27))
    assert table["length, labial margin to incisal edge"].green_mm == pytest.approx(radius, abs=0.003)
    assert table["incisal edge overbuild"].green_mm == pytest.approx(radius - 4, abs=0.003)
    # the same height over the margin: half of 4 mm
    wide = 2 * np.sqrt(radius**2 - 4)
    assert table["mesiodistal, middle third"].green_mm == pytest.approx(wide, abs=0.02)


def test_doubt_is_what_another_packing_would_change():
    m = made(ball(4.0), ball(3.0), (powder(),), margin_z_mm=0.0)
    table, _ = table_of(m)
    lengths = [np.cbrt(27 + 0.98 / rho * 37) for rho in (0.58, 0.62)]
    doubt = table["length, labial margin to incisal edge"].doubt_mm
    assert doubt == pytest.approx((lengths[0] - lengths[1]) / 2, rel=0.01)
    wider, _ = table_of(made(ball(4.0), ball(3.0), (powder(),), margin_z_mm=0.0, size_doubt=0.2))
    assert wider["length, labial margin to incisal edge"].doubt_mm == pytest.approx(np.hypot(doubt, 0.2))
    assert wider["incisal edge overbuild"].doubt_mm == pytest.approx(table["incisal edge overbuild"].doubt_mm)


def test_density_doubt_is_a_quarter_of_the_range_on_the_card():
    plain = powder()
    ranged = type(plain)(**{**vars(plain), "green_relative_density": figure(0.6, "1", 0.55, 0.67)})
    assert density_doubt(plain) == 0.02
    assert density_doubt(ranged) == pytest.approx(0.03)


def test_cut_back_depths_fired_and_green():
    cut = ball(3.6)
    m = made(
        ball(4.0), ball(3.0), (powder("dentine"), powder("enamel")), shares=(0.6, 0.4), cut_back=cut,
        cut_volume=cut.volume_mm3 - ball(3.0).volume_mm3, margin_z_mm=0.0,
    )  # fmt: skip
    table, _ = table_of(m)
    f = 0.98 / 0.60
    green = np.cbrt(27 + f * 37) - np.cbrt(27 + f * (3.6**3 - 27))
    row = table["cut-back, labial middle third"]
    assert (row.fired_mm, row.green_mm) == (
        pytest.approx(0.4, abs=0.01),
        pytest.approx(green, abs=0.01),
    )
    middle = table["cut-back, middle lobe tip to edge"]
    assert (middle.fired_mm, middle.green_mm) == (
        pytest.approx(0.4, abs=0.01),
        pytest.approx(green, abs=0.01),
    )
    assert {"cut-back, mesial lobe tip to edge", "cut-back, distal lobe tip to edge"} <= table.keys()


def test_contacts_are_told_by_side():
    neighbour = ball(2.0)
    mesial = neighbour.moved(neighbour.vertices_mm + np.array([6.0, 0.0, 0.0]))
    distal = neighbour.moved(neighbour.vertices_mm - np.array([6.0, 0.0, 0.0]))
    m = made(ball(4.0), ball(3.0), (powder(),), contact=0.15, margin_z_mm=-4.0, neighbours=(mesial, distal))
    table, green = table_of(m)
    for side in ("mesial", "distal"):
        assert table[f"{side} contact overbuild"].green_mm == pytest.approx(
            green.overbuild_mm.max(), abs=0.01
        )
    assert green.overbuild_mm.max() > green.overbuild_mm.min() + 0.15


@pytest.mark.parametrize(
    ("number", "names"),
    [
        ("36", {"mesiobuccal cusp", "distolingual cusp", "central fossa"}),
        ("24", {"buccal cusp", "palatal cusp", "central fossa"}),
    ],
)
def test_back_teeth_have_cusp_heights_instead_of_an_edge(number, names):
    dome = ball(4.0)
    dent = dome.vertices_mm.copy()
    hollow = np.exp(-(dent[:, 0] ** 2 + dent[:, 1] ** 2) / 2.0) * (dent[:, 2] > 0)
    dent[:, 2] -= 0.8 * hollow
    table, _ = table_of(made(dome.moved(dent), ball(2.5), (powder(),), number=number, margin_z_mm=0.0))
    for name in names:
        assert f"height of the {name} over the buccal margin" in table
    assert not any("incisal" in name for name in table)
    assert table["height of the central fossa over the buccal margin"].fired_mm == pytest.approx(
        3.2, abs=0.01
    )
    cusps = [c.fired_mm for n, c in table.items() if "cusp" in n]
    assert min(cusps) > 3.4


def test_gauge_reads_a_ball():
    gauge = Gauge(ball(4.0))
    assert gauge.ends(Y, plane=Z, at_mm=2.0) == pytest.approx((-(12**0.5), 12**0.5), abs=0.02)
    assert gauge.hits(X, at_mm=(1.0, 2.0)) == pytest.approx([-(11**0.5), 11**0.5], abs=0.02)
    assert len(gauge.hits(Z, at_mm=(5.0, 0.0))) == 0
    assert np.isnan(gauge.span(X, plane=Z, at_mm=9.0))
