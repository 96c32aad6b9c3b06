"""Views are never mirrored, whichever quadrant the tooth stands in."""

import numpy as np
import pytest
from handmade import frame_of

from firstbake.errors import BadCase
from firstbake.sheet import VIEWS, view_of

FRONT = {  # seen from in front of the patient: where the midline lies, and where the biting edge lies
    "11": ("right", "bottom"),
    "21": ("left", "bottom"),
    "31": ("left", "top"),
    "41": ("right", "top"),
}


@pytest.mark.parametrize("number", ["11", "21", "31", "41", "16", "26", "36", "46"])
@pytest.mark.parametrize("name", VIEWS)
def test_every_view_is_right_handed_so_nothing_is_mirrored(number, name):
    axes = view_of(frame_of(number, 10.0), name).axes
    assert np.allclose(axes @ axes.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)


@pytest.mark.parametrize("number", FRONT)
def test_the_labial_view_shows_the_tooth_as_in_the_mouth(number):
    """Midline and edge as on an ISO 3950 chart drawn from in front of the patient."""
    frame = frame_of(number, 10.0)
    view = view_of(frame, "labial")
    mesial, edge = view.seen(frame.to_file(np.array([[3.0, 0, 0], [0, 0, 9.0]])))
    midline, bite = FRONT[number]
    assert (mesial[0] > 0) == (midline == "right")
    assert (edge[1] > 0) == (bite == "top")
    assert view.rim[1 if midline == "right" else 0] == "mesial"
    assert view.rim[3 if bite == "bottom" else 2] == "incisal"


def test_from_the_edge_the_lip_of_an_upper_tooth_is_at_the_top():
    frame = frame_of("11", 10.0)
    lip = view_of(frame, "incisal").seen(frame.to_file(np.array([[0, 3.0, 0]])))[0]
    assert lip[1] == pytest.approx(3.0)
    assert view_of(frame_of("36", 8.0), "incisal").rim[3] == "buccal"


def test_an_unknown_view_is_refused_by_name():
    with pytest.raises(BadCase, match='no view "top"'):
        view_of(frame_of("11", 10.0), "top")
