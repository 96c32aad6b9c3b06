"""Reads the shared tooth meshes."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from firstbake.mesh import Surface

SHARED = Path(__file__).parents[2] / ".." / "shared" / "meshes" / "gpl-3.0_openmandible"


@pytest.fixture(scope="session")
def real_tooth() -> Callable[[str], Surface]:
    """Reads one of the shared tooth surfaces by the end of its name, "31_enamel"; skips when absent."""

    def read(name: str) -> Surface:
        path = SHARED / f"om_{name}.stl"
        if not path.exists():
            pytest.skip("shared tooth meshes are not here")
        raw = np.fromfile(path, dtype=np.uint8, offset=84).reshape(-1, 50)
        corners = raw[:, 12:48].copy().view("<f4").reshape(-1, 3).astype(np.float64)
        vertices, numbers = np.unique(corners, axis=0, return_inverse=True)
        return Surface(vertices, numbers.reshape(-1, 3).astype(np.int32))

    return read
