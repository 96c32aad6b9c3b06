"""Shared teeth (where present), balls and angles for the tests of this folder."""

import struct
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from firstbake.mesh import Grid, Surface, zero_surface

MESHES = Path(__file__).parents[2] / ".." / "shared" / "meshes"
needs_shared = pytest.mark.skipif(not MESHES.exists(), reason="no shared meshes")


def read_binary_stl(path: Path) -> Surface:
    """A binary STL with equal corners merged."""
    raw = path.read_bytes()
    (count,) = struct.unpack_from("<I", raw, 80)
    record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    corners = np.frombuffer(raw, dtype=record, count=count, offset=84)["corners"].reshape(-1, 3)
    vertices, number = np.unique(corners.astype(np.float64), axis=0, return_inverse=True)
    faces = number.reshape(-1, 3)
    good = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 0] != faces[:, 2])
    return Surface(vertices, faces[good].astype(np.int32))


@cache
def dundee(number: str) -> Surface:
    return read_binary_stl(MESHES / "cc-by-4.0_dundee" / f"dundee_{number}.stl")


@cache
def mandible(number: str, part: str) -> Surface:
    return read_binary_stl(MESHES / "gpl-3.0_openmandible" / f"om_{number}_{part}.stl")


@cache
def ball(radius_mm: float) -> Surface:
    corners = Surface(np.array([[-radius_mm] * 3, [radius_mm] * 3, [0.0] * 3]), np.array([[0, 1, 2]]))
    grid = Grid.around(corners, step_mm=0.4, margin_mm=0.8)
    return zero_surface(grid, np.linalg.norm(grid.points_mm, axis=1) - radius_mm)


def angle_deg(one: np.ndarray, other: np.ndarray) -> float:
    """Angle between two directions."""
    cosine = one @ other / (np.linalg.norm(one) * np.linalg.norm(other))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))
