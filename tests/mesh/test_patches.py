"""Patches of marked vertices."""

import numpy as np
import pytest
from solids import cube, sphere

from firstbake.errors import BadMesh
from firstbake.mesh import Surface, face_components, sub_surface, vertex_components


def test_two_polar_patches_the_larger_first() -> None:
    ball = sphere(5, 40)
    z = ball.vertices_mm[:, 2]
    labels = vertex_components(ball, (z > 4) | (z < -3))
    assert (labels[z < -3] == 0).all()
    assert (labels[z > 4] == 1).all()
    assert (labels[(z <= 4) & (z >= -3)] == -1).all()


def test_nothing_marked_gives_no_patch_and_a_wrong_mask_is_refused() -> None:
    ball = sphere(5, 8)
    assert (vertex_components(ball, np.zeros(len(ball.vertices_mm), dtype=bool)) == -1).all()
    with pytest.raises(BadMesh, match="mask"):
        vertex_components(ball, np.ones(3, dtype=bool))


def test_bodies_are_numbered_by_their_first_face() -> None:
    a, b = cube(2.0), cube(2.0, (5, 0, 0))
    faces = np.vstack([b.faces + 8, a.faces])
    assert face_components(faces, 16).tolist() == [0] * 12 + [1] * 12
    part, old = sub_surface(Surface(np.vstack([a.vertices_mm, b.vertices_mm]), faces), np.arange(24) < 12)
    assert old.tolist() == list(range(8, 16))
    assert part.volume_mm3 == pytest.approx(8.0)
