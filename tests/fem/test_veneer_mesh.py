"""Meshes between two surfaces, and the overbuild on them."""

from pathlib import Path

import numpy as np
import pytest

from firstbake.errors import BadMesh
from firstbake.fem import (
    Cancelled,
    carrier_of,
    coarser_build,
    fire,
    mesh_veneer,
    overbuild,
    overbuilt_in_sweeps,
    with_error_estimate,
)
from firstbake.fem.tetrahedra import quality, volumes_mm3
from firstbake.mesh import Probe, Surface, volume_between
from firstbake.teeth import Tooth, generate_crown, usual_sizes

SHARED = Path(__file__).parents[2] / ".." / "shared" / "meshes" / "gpl-3.0_openmandible"
END = {"green_density": 0.6, "end_density": 0.98}


@pytest.fixture(scope="module")
def crown():
    made = generate_crown(Tooth("11"), usual_sizes(Tooth("11")), triangles=12_000)
    return made.contour, made.core


@pytest.fixture(scope="module")
def mesh(crown):
    return mesh_veneer(*crown, step_mm=0.8)


@pytest.fixture(scope="module")
def built(mesh):
    return list(overbuilt_in_sweeps(mesh, **END))


def test_the_mesh_fills_the_room(crown, mesh):
    assert mesh.volume_mm3 == pytest.approx(volume_between(*crown), rel=0.02)
    assert quality(mesh.nodes_mm, mesh.tets).min() > 1e-3
    for surface, rows in ((crown[1], mesh.bonded), (crown[0], mesh.on_contour)):
        off = Probe(surface).nearest(mesh.nodes_mm[rows]).distance_mm
        assert np.percentile(off, 80) < 1e-6
        assert np.sqrt((off**2).mean()) < 0.02
    assert mesh.report.nodes == len(mesh.nodes_mm)


def test_the_quick_answer_comes_first_and_sweeps_bring_it_home(built):
    assert built[0].fired is None and built[0].solves == 2
    assert built[-1].residual_um <= 10
    assert built[-1].rms_um < 5


def test_the_green_mesh_fires_to_the_wanted_contour(crown, mesh, built):
    fired = fire(mesh.moved(built[-1].green_nodes_mm), steps=6, **END)
    on = mesh.on_contour & ~mesh.bonded
    there = Probe(crown[0]).nearest(mesh.nodes_mm[on]).distance_mm < 0.002
    off = Probe(crown[0]).nearest(fired.nodes_mm[on][there]).distance_mm
    assert np.percentile(off, 99) < 0.012
    plain = fire(mesh, **END)
    assert np.percentile(Probe(crown[0]).nearest(plain.nodes_mm[on]).distance_mm, 50) > 0.15


def test_points_go_with_the_mesh(mesh, built):
    last = built[-1]
    at_nodes = last.green_of(mesh.nodes_mm[::7])
    assert np.abs(at_nodes - last.green_nodes_mm[::7]).max() < 1e-9
    middles = mesh.nodes_mm[mesh.tets[::11]].mean(axis=1)
    assert np.abs(last.green_of(middles) - last.green_nodes_mm[mesh.tets[::11]].mean(axis=1)).max() < 1e-9
    assert carrier_of(mesh, middles).share.min() == 1


def test_two_powders_shrink_each_by_its_own_density(mesh):
    deep = mesh.nodes_mm[mesh.tets].mean(axis=1)[:, 2] > np.median(mesh.nodes_mm[:, 2])
    density = np.where(deep, 0.65, 0.55)
    built = overbuild(mesh, green_density=density, end_density=0.98, tolerance_mm=0.015)
    assert built.residual_um <= 15
    green = volumes_mm3(built.green_nodes_mm, mesh.tets)
    growth = green / volumes_mm3(mesh.nodes_mm, mesh.tets)
    ratio = np.median(growth[~deep]) / np.median(growth[deep])
    assert ratio == pytest.approx(0.65 / 0.55, rel=0.03)


def test_a_person_can_stop(mesh):
    with pytest.raises(Cancelled):
        overbuild(mesh, progress=lambda *_: False, **END)


def test_surfaces_apart_are_refused(crown):
    contour, core = crown
    away = Surface(core.vertices_mm + np.array([40.0, 0, 0]), core.faces)
    with pytest.raises(BadMesh):
        mesh_veneer(contour, away, step_mm=0.8)


def test_a_contour_with_its_front_missing_is_refused(crown):
    contour, core = crown
    y = contour.vertices_mm[contour.faces].mean(axis=1)[:, 1]
    with pytest.raises(BadMesh):
        mesh_veneer(Surface(contour.vertices_mm, contour.faces[y > np.median(y)]), core, step_mm=0.8)


def dirtied(surface, rng):
    """Noise of 10 um, 1 % of the faces missing, 1 % turned over, 2 % doubled."""
    faces = surface.faces[rng.random(len(surface.faces)) > 0.01].copy()
    over = rng.random(len(faces)) < 0.01
    faces[over] = faces[over][:, ::-1]
    faces = np.vstack([faces, faces[rng.random(len(faces)) < 0.02]])
    return Surface(surface.vertices_mm + rng.normal(0, 0.01, surface.vertices_mm.shape), faces)


def test_dirty_scans_give_the_clean_answer(crown, mesh, built):
    contour, core = crown
    rng = np.random.default_rng(3)
    again = mesh_veneer(dirtied(contour, rng), dirtied(core, rng), step_mm=0.8)
    assert again.volume_mm3 == pytest.approx(mesh.volume_mm3, rel=0.01)
    there = overbuild(again, tolerance_mm=0.02, **END)
    points = contour.vertices_mm[::5]
    thick = Probe(core).nearest(points).distance_mm > 0.2
    one, two = built[-1].green_of(points[thick]), there.green_of(points[thick])
    assert np.percentile(np.linalg.norm(one - two, axis=1), 95) < 0.06  # two coarse meshes, step 0.8 mm


@pytest.mark.parametrize("tooth", ["31", "36"])
def test_real_teeth_mesh(tooth):
    files = [SHARED / f"om_{tooth}_derived_{k}_open.stl" for k in ("target_outer", "coping_proxy")]
    if not all(f.exists() for f in files):
        pytest.skip("shared tooth meshes are not here")
    from firstbake.files.meshes import read_surface

    contour, core = (
        read_surface(f, unit="mm", role=r).surface for f, r in zip(files, ("contour", "core"), strict=True)
    )
    mesh = mesh_veneer(contour, core, step_mm=0.8)
    assert mesh.volume_mm3 == pytest.approx(volume_between(contour, core), rel=0.03)
    built = overbuild(mesh, tolerance_mm=0.02, **END)
    assert built.rms_um < 10


def test_the_error_estimate_is_of_the_size_of_the_true_difference(crown, mesh, built):
    density, end = END["green_density"], END["end_density"]
    coarse = coarser_build(built[-1].wanted, density_of=lambda mesh: density, end_density=end)
    known = with_error_estimate(built[-1], coarse)
    fine = overbuild(mesh_veneer(*crown, step_mm=0.55), **END)
    points = crown[0].vertices_mm[::5]
    points = points[Probe(crown[1]).nearest(points).distance_mm > 0.2]
    true = np.linalg.norm(built[-1].green_of(points) - fine.green_of(points), axis=1)
    assert known.error_estimate_um > 0.3 * np.percentile(true, 99) * 1e3
