"""The green contour follows the column laws, closes its mass balance and does not fold."""

import numpy as np
import pytest
from conftest import ball, box, made, powder

from firstbake.errors import BadSum
from firstbake.green import column_green, mix_of
from firstbake.green.allowance import contact_places, extra_of
from firstbake.green.bend import Bend, bend_sums
from firstbake.green.growth import closing_factor, swept_volume_mm3
from firstbake.green.reach import reach_of, wall_mm
from firstbake.green.spread import spread
from firstbake.mesh import Surface, nearest, signed_distance, volume_between

F = 0.98 / 0.60


def sphere_green_mm(radius: float, fired: float, factor: float) -> float:
    """Green thickness of a shell over a ball: closed form from the two shell volumes."""
    return float(np.cbrt(radius**3 + factor * ((radius + fired) ** 3 - radius**3)) - radius)


def green_of(m):
    return column_green(m.case, m.room, layers=m.layers)


@pytest.mark.parametrize(("radius", "fired"), [(3.0, 1.0), (30.0, 1.0), (3.0, 0.3)])
def test_shell_over_a_ball_gets_the_closed_form(radius, fired):
    green = green_of(made(ball(radius + fired), ball(radius), (powder(),)))
    wanted = sphere_green_mm(radius, fired, F) - fired
    # the ball of radius 30 mm has triangles of 2 mm, twice the largest patch: 12 odd vertices show by 0.5 %
    assert green.overbuild_mm == pytest.approx(wanted, abs=0.006 * wanted)
    assert np.median(green.overbuild_mm) == pytest.approx(wanted, abs=0.001 * wanted)
    assert green.mass_closure == pytest.approx(1.0, abs=0.005)
    assert not green.free_share.any()
    assert green.model == "bonded-layer columns"


def test_flat_layer_tends_to_the_film_rule():
    green = green_of(made(ball(301.0), ball(300.0), (powder(),)))
    assert green.overbuild_mm.mean() == pytest.approx(F - 1, rel=0.01)


@pytest.mark.parametrize("shape", ["ball", "bar"])
@pytest.mark.parametrize(("grind_off", "contact"), [(0.0, 0.0), (0.1, 0.15)])
def test_mass_is_conserved(shape, grind_off, contact):
    bar = box((3, 3, 8), 0.25, (0, 0, 3)), box((2, 2, 2), 0.25, (0, 0, 0.5))
    contour, core = (ball(4.0, scale=(1, 0.9, 1.1)), ball(3.0)) if shape == "ball" else bar
    kit = powder("dentine", green=0.60), powder("enamel", green=0.56)
    m = made(
        contour, core, kit, shares=(0.6, 0.4), grind_off=grind_off, contact=contact, neighbours=(ball(2.0),)
    )
    green = green_of(m)
    assert volume_between(green.contour, core) == pytest.approx(green.volume_mm3, rel=1e-9)
    solid_green = sum(
        green.powder_volume_mm3[p.name] * p.green_relative_density.value * p.solid_density_g_per_cm3.value
        for p in kit
    )
    placed = sum(x.placed_g for x in mix_of(m.case, m.layers))
    assert solid_green * 1e-3 == pytest.approx(placed, rel=1e-9)
    assert green.folded_faces == 0


def test_far_end_of_a_bar_shrinks_as_a_free_body():
    contour, core = box((2, 5, 8), 0.25, (0, 0, 3.5)), box((1, 4, 1), 0.25, (0, 0, 0.5))
    m = made(contour, core, (powder(),))
    green = green_of(m)
    x, y, z = contour.vertices_mm.T
    end = (z > 7.49) & (np.abs(x) < 0.3) & (np.abs(y) < 0.3)
    assert end.any()
    assert green.free_share[end] == pytest.approx(1.0, abs=0.02)
    grown = green.overbuild_mm[end] / green.mass_closure / m.room.thickness_mm[end]
    assert grown == pytest.approx(np.cbrt(F) - 1, rel=0.01)
    side = (np.abs(x) > 0.99) & (np.abs(y) < 0.3) & (z > 4.5) & (z < 6.5)
    out = (green.contour.vertices_mm - contour.vertices_mm)[side, 0] / np.sign(x[side])
    assert out / green.mass_closure == pytest.approx(np.cbrt(F) - 1, rel=0.05)  # half the width is 1 mm
    foot = (np.abs(z - 0.4) < 0.3) & (np.abs(x) > 0.99) & (np.abs(y) < 0.2)
    assert green.free_share[foot].max() < 0.05


def test_wall_is_the_ball_that_fits_under_the_contour():
    slab = box((8, 8, 1.2), 0.2, (0, 0, 0))
    x, y, z = slab.vertices_mm.T
    middle = (np.abs(x) < 2) & (np.abs(y) < 2) & (z > 0.59)
    assert wall_mm(slab, np.full(len(x), 3.0))[middle] == pytest.approx(1.2, abs=1e-6)
    assert wall_mm(slab, np.full(len(x), 0.8))[middle] == pytest.approx(0.8, abs=1e-12)
    assert reach_of(slab, ball(0.3), np.full(len(x), 3.0)).free_share[middle].min() > 0.99


def test_two_powders_follow_their_own_factors():
    inner, outer = powder("dentine", green=0.62), powder("enamel", green=0.55)
    cut = ball(3.6)
    between = cut.volume_mm3 - ball(3.0).volume_mm3
    m = made(ball(4.0), ball(3.0), (inner, outer), shares=(0.6, 0.4), cut_back=cut, cut_volume=between)
    green = green_of(m)
    f1, f2 = inner.volume_factor, outer.volume_factor
    r1 = np.cbrt(27 + f1 * (3.6**3 - 27))
    r2 = np.cbrt(r1**3 + f2 * (4.0**3 - 3.6**3))
    full = np.cbrt(27 + f1 * (4.0**3 - 27))
    assert np.linalg.norm(green.dentine_cut.vertices_mm, axis=1) == pytest.approx(r1, abs=0.003)
    assert np.linalg.norm(green.contour.vertices_mm, axis=1) == pytest.approx(r2, abs=0.003)
    assert np.linalg.norm(green.dentine_full.vertices_mm, axis=1) == pytest.approx(full, abs=0.003)
    assert full < r2
    assert np.array_equal(green.dentine_cut.faces, cut.faces)
    assert signed_distance(green.contour, green.dentine_cut.vertices_mm).distance_mm.max() < 0


def test_one_powder_has_no_dentine_of_its_own(shell):
    green = green_of(shell)
    assert green.dentine_full is None
    assert green.dentine_cut is None


def test_cut_back_stays_inside_where_enamel_runs_out():
    contour, core = ball(4.0, scale=(1.1, 0.9, 1.2)), ball(3.0)
    top = np.clip((contour.vertices_mm[:, 2] - 1.0) / 3.0, 0.0, 1.0) * 0.4
    cut = contour.moved(contour.vertices_mm - top[:, None] * contour.vertex_normals)
    between = cut.volume_mm3 - core.volume_mm3
    kit = powder("dentine"), powder("enamel")
    m = made(contour, core, kit, shares=(0.7, 0.3), cut_back=cut, cut_volume=between)
    green = green_of(m)
    assert signed_distance(green.contour, green.dentine_cut.vertices_mm).distance_mm.max() < 1e-9


def test_contour_below_the_margin_does_not_move():
    contour, core = ball(4.0), ball(3.0)
    low = contour.vertices_mm[:, 2] < -2.0
    m = made(contour, core, (powder(),))
    room = type(m.room)(**{**vars(m.room), "veneered": ~low})
    green = column_green(m.case, room, layers=m.layers)
    assert green.overbuild_mm[low].max() < 1e-12
    assert green.overbuild_mm[~low].min() > 0


def test_grind_off_adds_to_the_fired_layer_before_it_grows():
    green = green_of(made(ball(4.0), ball(3.0), (powder(),), grind_off=0.1))
    assert green.overbuild_mm == pytest.approx(sphere_green_mm(3.0, 1.1, F) - 1.0, abs=0.003)


def test_allowances_belong_to_the_outermost_powder_and_to_the_contacts():
    neighbour = ball(2.0)
    neighbour = neighbour.moved(neighbour.vertices_mm + np.array([6.05, 0.0, 0.0]))
    away = neighbour.moved(neighbour.vertices_mm + np.array([0.0, 9.0, 0.0]))
    kit = powder("dentine"), powder("enamel")
    m = made(ball(4.0), ball(3.0), kit, shares=(0.7, 0.3), contact=0.2, neighbours=(neighbour, away))
    first, second = contact_places(m.case)
    assert first == pytest.approx([4.0, 0.0, 0.0], abs=0.1)
    assert second is None
    extra = extra_of(m.case, m.layers)
    distance = np.linalg.norm(m.case.contour.surface.vertices_mm - first, axis=1)
    assert extra.field_mm[distance < 0.5] == pytest.approx(0.2)
    assert extra.field_mm[distance > 1.5].max() == 0.0
    assert extra.volumes_mm3[0] == 0.0
    # a flat spot of height 0.2: full within 0.5 mm, smoothstep to 1.5 mm; ring integral of that profile
    r = np.linspace(0, 1.5, 20001)
    profile = 0.2 * np.where(r < 0.5, 1.0, 1 - (3 * (r - 0.5) ** 2 - 2 * (r - 0.5) ** 3))
    assert extra.volumes_mm3[1] == pytest.approx(np.trapezoid(2 * np.pi * r * profile, r), rel=0.1)


def test_no_porcelain_is_said_in_words(shell):
    room = type(shell.room)(**{**vars(shell.room), "veneered": np.zeros_like(shell.room.veneered)})
    with pytest.raises(BadSum, match="no porcelain"):
        column_green(shell.case, room, layers=shell.layers)


def test_swept_volume_of_an_open_cap_counts_its_band():
    sheet = box((2, 2, 2), 0.5, (0, 0, 0))
    top = sheet.faces[(sheet.vertices_mm[sheet.faces][:, :, 2] > 0.99).all(axis=1)]
    lid = Surface(sheet.vertices_mm, top)
    up = np.tile([0.0, 0.0, 0.3], (len(sheet.vertices_mm), 1))
    assert swept_volume_mm3(lid, up) == pytest.approx(4 * 0.3, rel=1e-12)
    assert closing_factor(lid, up, 1.8) == pytest.approx(1.5, rel=1e-12)
    with pytest.raises(BadSum, match="cannot take up"):
        closing_factor(lid, up, -1.0)


def test_spreading_keeps_constants_sums_and_pinned_vertices():
    surface = ball(4.0, 3)
    field = surface.vertices_mm[:, 0] ** 2
    smooth = spread(surface, field, 0.7)
    area = surface.vertex_areas_mm2
    assert spread(surface, np.full(len(field), 2.5), 0.7) == pytest.approx(2.5, rel=1e-12)
    assert area @ smooth == pytest.approx(area @ field, rel=1e-12)
    # x² on a sphere is a constant and a second harmonic, whose Laplacian is -6/R² of it
    wanted = 16 / 3 + (field - 16 / 3) / (1 + 0.7**2 * 6 / 16)
    assert smooth == pytest.approx(wanted, abs=0.03)
    reach = np.where(surface.vertices_mm[:, 2] < 0, 0.0, 0.7)
    held = surface.vertices_mm[:, 2] < -1
    assert np.allclose(spread(surface, field, reach)[held], field[held], rtol=1e-13)


def test_bend_of_ball_box_and_cylinder():
    mean, gauss = bend_sums(ball(3.0))
    area = ball(3.0).vertex_areas_mm2
    assert mean.sum() / area.sum() == pytest.approx(1 / 3, rel=0.002)
    assert gauss.sum() == pytest.approx(4 * np.pi, rel=1e-12)  # Gauss and Bonnet
    # a box a x b x c: Steiner's formula has pi (a + b + c) for the sum of mean curvature
    mean, gauss = bend_sums(box((2, 3, 4), 0.5, (0, 0, 0)))
    assert mean.sum() == pytest.approx(np.pi * 9, rel=1e-12)
    assert gauss.sum() == pytest.approx(4 * np.pi, rel=1e-12)
    hollow = ball(3.0)
    inside_out = Surface(hollow.vertices_mm, hollow.faces[:, ::-1])
    assert bend_sums(inside_out)[0].sum() == pytest.approx(-bend_sums(hollow)[0].sum(), rel=1e-12)


def test_patches_smooth_a_sharp_edge_over_the_height_of_the_porcelain():
    core = box((6, 6, 6), 0.2, (0, 0, 0))
    bend = Bend.of(core)
    foot = np.array([[3.0, 0.0, 3.0], [3.0, 0.0, 0.0]])
    found = nearest(core, foot)
    thin, thick = (bend.at(found.face, foot, np.full(2, t)) for t in (0.5, 2.0))
    assert thin[0][0] > thick[0][0] > 0.3  # the edge bends a thin layer more than a thick one
    assert abs(thin[0][1]) < 1e-3  # the flat side far from every edge
    assert max(abs(thin[1]).max(), abs(thick[1]).max()) < 0.1  # hardly a bend along the edge
