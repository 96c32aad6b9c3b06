"""One generated incisor, measured once."""

from pathlib import Path

import numpy as np
import pytest
from layering_shapes import case_of
from measured_teeth import Measured

from firstbake.case import Case
from firstbake.mesh import Surface
from firstbake.room import measure_room
from firstbake.teeth import Tooth, demo_crown, find_frame, generate_crown, usual_sizes

SHARED = Path(__file__).parents[2] / ".." / "shared" / "meshes" / "gpl-3.0_openmandible"


def measured(case: Case) -> Measured:
    frame = find_frame(
        case.tooth,
        contour=case.contour.surface,
        core=case.core.surface,
        neighbours=(),
        landmarks=case.landmarks,
    )
    return Measured(case, frame, measure_room(case, frame))


@pytest.fixture(scope="session")
def incisor() -> Measured:
    """The demo's upper central incisor, room 0.35 mm at its planted thin spot; dentine and enamel."""
    crown = demo_crown(triangles=12_000)
    return measured(case_of(crown.contour, crown.core, "dentine", "enamel", landmarks=crown.landmarks))


@pytest.fixture(scope="session")
def molar() -> Measured:
    crown = generate_crown(Tooth("46"), usual_sizes(Tooth("46")), triangles=8_000)
    return measured(
        case_of(crown.contour, crown.core, "dentine", "enamel", tooth="46", landmarks=crown.landmarks)
    )


@pytest.fixture(scope="session")
def canine() -> Measured:
    crown = generate_crown(Tooth("13"), usual_sizes(Tooth("13")), triangles=8_000)
    return measured(
        case_of(crown.contour, crown.core, "dentine", "enamel", tooth="13", landmarks=crown.landmarks)
    )


@pytest.fixture(scope="session")
def real_incisor() -> Measured:
    """Enamel surface of a real lower incisor over its dentine, both ragged and open at the margin."""

    def read(name: str) -> Surface:
        path = SHARED / f"om_31_derived_{name}_open.stl"
        if not path.exists():
            pytest.skip("shared tooth meshes are not here")
        raw = np.fromfile(path, dtype=np.uint8, offset=84).reshape(-1, 50)
        corners = raw[:, 12:48].copy().view("<f4").reshape(-1, 3).astype(np.float64)
        vertices, numbers = np.unique(corners, axis=0, return_inverse=True)
        return Surface(vertices, numbers.reshape(-1, 3).astype(np.int32))

    return measured(case_of(read("target_outer"), read("coping_proxy"), "dentine", "enamel", tooth="31"))
