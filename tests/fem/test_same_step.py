"""The linear systems against an independent finite-element library, solvers against each other,
invariances."""

import numpy as np
import pytest
from bodies import ball_shell, box

from firstbake.fem import Body, NodeAveraged, Quadratic, curved, fire, solver_named
from firstbake.fem.element import DRAG


def small_body():
    points, tets = box((3, 3, 2), (1.5, 1.2, 0.8))
    inside = ((points > 1e-9) & (points < points.max(axis=0) - 1e-9)).all(axis=1)
    points = points + np.where(inside[:, None], 0.05 * np.sin(7 * points[:, ::-1]), 0)
    return Body(points, tets, points[:, 2] == 0)


def forces_of(element, points, porosity, known):
    """(n, c) forces of known velocities and pressures, held nodes included."""
    from firstbake.fem.tetrahedra import volumes_and_gradients

    blocks = element.blocks(*volumes_and_gradients(points, element.tets), porosity)
    one, two = element.unknowns.pairs.ends.T
    total = np.zeros_like(known)
    np.add.at(total, one, np.einsum("ijq,qj->qi", blocks, known[two]))
    apart = one != two
    np.add.at(total, two[apart], np.einsum("ijq,qi->qj", blocks[:, :, apart], known[one[apart]]))
    return total


def held_of(body):
    return np.repeat(body.bonded[:, None], 3, axis=1)


def test_the_default_element_is_the_one_an_outside_library_assembles():
    skfem = pytest.importorskip("skfem")
    from skfem.helpers import ddot, div, sym_grad

    body = small_body()
    mesh = skfem.MeshTet(body.nodes_mm.T.copy(), body.tets.T.astype(np.int32).copy())
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementTetP1()), intorder=2)
    scalar = basis.with_element(skfem.ElementTetP1())
    density = 0.55 + 0.1 * body.nodes_mm[:, 0] / 1.5
    element = NodeAveraged(body.nodes_mm, body.tets, held_of(body))
    volumes = element.volumes_mm3(body.nodes_mm)
    motion = element.motion(body.nodes_mm, density * volumes)

    th = 1 - density
    shear = 0.75 * ((1 - th) ** 2)[body.tets].mean(axis=1)
    constant = basis.with_element(skfem.ElementTetP0())

    @skfem.BilinearForm
    def deviator(u, v, w):
        return 2 * w["shear"] * (ddot(sym_grad(u), sym_grad(v)) - div(u) * div(v) / 3)

    @skfem.BilinearForm
    def change(u, q, w):
        return div(u) * q

    @skfem.LinearForm
    def one(q, w):
        return q

    k = deviator.assemble(basis, shear=constant.interpolate(shear))
    d = change.assemble(basis, scalar)
    lumped = one.assemble(scalar)
    assert np.allclose(lumped, volumes, rtol=1e-12)
    bulk = (1 - th) ** 3 / th
    import scipy.sparse as sp

    a = (k + d.T @ sp.diags(bulk / lumped) @ d).tocsc()
    b = -(d.T @ (1 - th) ** 2)
    fixed = basis.get_dofs(lambda x: x[2] < 1e-9).all()
    v = skfem.solve(*skfem.condense(a, b, D=fixed))
    theirs = v[basis.nodal_dofs].T
    assert np.abs(theirs - motion.velocity_mm).max() < 1e-8 * np.abs(theirs).max()


def test_the_quadratic_element_is_the_one_an_outside_library_assembles():
    skfem = pytest.importorskip("skfem")
    from skfem.helpers import ddot, div, sym_grad

    body = small_body()
    ours, edges = curved(body.nodes_mm, body.tets)
    held = np.repeat((np.abs(ours.nodes_mm[:, 2]) < 1e-9)[:, None], 3, axis=1)
    element = Quadratic(ours, held)
    volumes = element.gauss_volumes_mm3(ours.nodes_mm)
    th = 0.4
    velocity, _ = element.motion(ours.nodes_mm, (1 - th) * volumes)
    mesh = skfem.MeshTet(body.nodes_mm.T.copy(), body.tets.T.astype(np.int32).copy())
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementTetP2()), intorder=2)

    @skfem.BilinearForm
    def law(u, v, w):
        shear, bulk = 0.75 * (1 - th) ** 2, (1 - th) ** 3 / th
        strain = ddot(sym_grad(u), sym_grad(v)) - div(u) * div(v) / 3
        return 2 * shear * strain + bulk * div(u) * div(v)

    @skfem.LinearForm
    def pull(v, w):
        return -((1 - th) ** 2) * div(v)

    fixed = basis.get_dofs(lambda x: x[2] < 1e-9).all()
    v = skfem.solve(*skfem.condense(law.assemble(basis), pull.assemble(basis), D=fixed))
    theirs = v[basis.nodal_dofs].T
    assert np.abs(theirs - velocity[: len(body.nodes_mm)]).max() < 1e-8 * np.abs(theirs).max()
    middles = v[basis.edge_dofs].T
    order = {tuple(sorted(e)): k for k, e in enumerate(mesh.edges.T.tolist())}
    rows = [order[tuple(e)] for e in edges.tolist()]
    assert np.abs(middles[rows] - velocity[len(body.nodes_mm) :]).max() < 1e-8 * np.abs(theirs).max()


def test_both_solvers_give_the_same_velocities():
    body, _ = ball_shell(1.3)
    both = [
        NodeAveraged(body.nodes_mm, body.tets, held_of(body), solver=solver_named(name))
        for name in ("fronts", "superlu")
    ]
    masses = both[0].masses_mm3(body.nodes_mm, np.full(len(body.tets), 0.97))
    one, two = (e.motion(body.nodes_mm, masses) for e in both)
    assert np.abs(one.velocity_mm - two.velocity_mm).max() < 1e-10 * np.abs(two.velocity_mm).max()
    assert np.abs(one.tension - two.tension).max() < 1e-9


def test_an_unknown_solver_is_refused():
    from firstbake.errors import BadSum

    with pytest.raises(BadSum, match="no solver named"):
        solver_named("abacus")


def test_a_linear_motion_is_reproduced_exactly():
    """Patch test: nodes outside are given a linear velocity, the inner ones must follow it."""
    body = small_body()
    slope = np.array([[0.3, 0.1, -0.2], [0.05, -0.4, 0.2], [0.1, 0.3, 0.25]])
    wanted = body.nodes_mm @ slope.T
    outer = np.zeros(len(wanted), bool)
    outer[np.unique(body.faces)] = True
    element = NodeAveraged(body.nodes_mm, body.tets, np.repeat(outer[:, None], 3, axis=1))
    th = np.full(len(wanted), 0.3)
    pressure = 0.7**3 / 0.3 * np.trace(slope)
    known = np.column_stack([wanted, np.full(len(wanted), pressure)])
    total = forces_of(element, body.nodes_mm, th, known)
    assert np.abs(total[~outer, :3]).max() < 1e-13
    assert np.abs(total[:, 3]).max() < 1e-13  # the pressures belong to that motion everywhere
    assert (~outer).sum() > 3


def test_rigid_motions_meet_no_resistance():
    body = small_body()
    element = NodeAveraged(body.nodes_mm, body.tets, held_of(body))
    turn = np.cross(np.array([0.3, -0.5, 0.8]), body.nodes_mm) + np.array([1.0, 2.0, 3.0])
    moved = np.column_stack([turn, np.zeros(len(turn))])
    forces = forces_of(element, body.nodes_mm, np.full(len(body.nodes_mm), 0.2), moved)
    assert np.abs(forces).max() < 1e-12
    assert DRAG < 1e-8


def test_firing_does_not_depend_on_how_the_body_lies():
    body = small_body()
    q, _ = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))
    q *= np.sign(np.linalg.det(q))
    turned = Body(body.nodes_mm @ q.T + [3.0, -2.0, 7.0], body.tets, body.bonded)
    one = fire(body, green_density=0.6, end_density=0.95)
    two = fire(turned, green_density=0.6, end_density=0.95)
    assert np.abs(one.nodes_mm @ q.T + [3.0, -2.0, 7.0] - two.nodes_mm).max() < 1e-9
