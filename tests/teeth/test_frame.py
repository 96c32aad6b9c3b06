"""Finding a tooth's axes: landmarks, neighbours, shape, real teeth, and no crash without a margin."""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from tooth_meshes import angle_deg, ball, dundee, mandible, needs_shared

from firstbake.errors import BadCase
from firstbake.mesh import Surface
from firstbake.teeth import (
    DemoCrown,
    Frame,
    GeneratedCrown,
    Landmarks,
    Tooth,
    demo_crown,
    find_frame,
    generate_crown,
    usual_sizes,
)

SHIFT_MM = np.array([5.0, -20.0, 31.0])
TURNS = [Rotation.from_rotvec(v) for v in ([0.3, -1.1, 2.0], [2.5, 0.4, -0.9], [-1.4, 1.2, 0.1])]


@cache
def crown(number: str) -> GeneratedCrown:
    return generate_crown(Tooth(number), usual_sizes(Tooth(number)), triangles=3000)


@cache
def demo() -> DemoCrown:
    return demo_crown(triangles=6000)


def axes_in_file(number: str) -> np.ndarray:
    """Rows mesial, labial, incisal of a generated crown."""
    return np.diag([1.0 if number[0] in "14" else -1.0, -1.0, -1.0 if number[0] in "12" else 1.0])


def turned(surface: Surface, turn: Rotation) -> Surface:
    return surface.moved(turn.apply(np.array(surface.vertices_mm)) + SHIFT_MM)


def turned_taps(taps: Landmarks, turn: Rotation) -> Landmarks:
    moved = {k: tuple((turn.apply(v) + SHIFT_MM).tolist()) for k, v in vars(taps).items()}
    return Landmarks(**moved)


def worst_deg(frame: Frame, true_axes: np.ndarray) -> float:
    return max(angle_deg(frame.axes[k], true_axes[k]) for k in range(3))


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("number", ["11", "22", "33", "44", "26", "47"])
def test_landmarks_give_the_axes_in_any_pose(number: str, turn: Rotation) -> None:
    made = crown(number)
    frame = find_frame(
        Tooth(number),
        contour=turned(made.contour, turn),
        core=turned(made.core, turn),
        landmarks=turned_taps(made.landmarks, turn),
    )
    assert worst_deg(frame, turn.apply(axes_in_file(number))) < 1.0
    assert frame.confidence >= 0.8
    sizes = usual_sizes(Tooth(number))
    assert frame.width_mm == pytest.approx(sizes.mesiodistal_mm, abs=0.01)
    assert frame.depth_mm == pytest.approx(sizes.labiopalatal_mm, abs=0.01)


@pytest.mark.parametrize("turn", TURNS)
def test_two_neighbours_give_the_axes_in_any_pose(turn: Rotation) -> None:
    made = demo()
    frame = find_frame(
        made.tooth,
        contour=turned(made.contour, turn),
        core=turned(made.core, turn),
        neighbours=(turned(made.distal, turn), turned(made.mesial, turn)),  # order does not matter
    )
    assert worst_deg(frame, turn.apply(axes_in_file("11"))) < 12.0
    assert frame.confidence >= 0.8
    assert "neighbours" in frame.method


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("number", ["11", "21", "12", "31", "42", "13", "43"])
def test_shape_alone_gives_the_axes_of_front_teeth(number: str, turn: Rotation) -> None:
    made = crown(number)
    frame = find_frame(Tooth(number), contour=turned(made.contour, turn), core=turned(made.core, turn))
    assert worst_deg(frame, turn.apply(axes_in_file(number))) < 15.0
    assert 0.5 <= frame.confidence < 0.8


@pytest.mark.parametrize("number", ["14", "25", "16", "27", "45", "36", "47"])
def test_shape_alone_gives_the_axes_of_back_teeth(number: str) -> None:
    made = crown(number)
    frame = find_frame(
        Tooth(number), contour=turned(made.contour, TURNS[0]), core=turned(made.core, TURNS[0])
    )
    assert worst_deg(frame, TURNS[0].apply(axes_in_file(number))) < 15.0
    assert frame.confidence < 0.8


@pytest.mark.parametrize("number", ["11", "21", "31", "41"])
def test_axes_are_handed_like_the_tooth(number: str) -> None:
    made = crown(number)
    frame = find_frame(Tooth(number), contour=made.contour, core=made.core)
    assert np.linalg.det(frame.axes) == pytest.approx(Tooth(number).handed)


def test_the_margin_curve_follows_the_margin() -> None:
    made = crown("11")
    frame = find_frame(Tooth("11"), contour=made.contour, core=made.core, landmarks=made.landmarks)
    ring = frame.to_local(made.contour.vertices_mm[made.contour.loops[0]])
    assert np.abs(frame.margin_height_mm(ring) - ring[:, 2]).max() < 0.15
    assert all(b > a for a, b in pairwise(frame.margin_azimuth_rad))
    # usual neck-line rise of an upper central incisor: 3.5 mesial, 2.5 distal (Ash and Nelson)
    rise = frame.margin_height_mm(np.array([[1.0, 0, 0], [-1.0, 0, 0], [0, 1.0, 0]]))
    assert rise[0] - rise[2] == pytest.approx(3.5, abs=0.3)
    assert rise[1] - rise[2] == pytest.approx(2.5, abs=0.3)


def test_closed_balls_give_a_guess_and_say_so() -> None:
    frame = find_frame(Tooth("11"), contour=ball(5.0), core=ball(4.2))
    assert frame.confidence < 0.5
    assert frame.height_mm == pytest.approx(10.0, abs=0.1)
    assert np.linalg.norm(frame.axes, axis=1) == pytest.approx(1.0)


def test_landmarks_in_one_place_are_refused() -> None:
    made = crown("11")
    with pytest.raises(BadCase, match="one place"):
        find_frame(
            Tooth("11"),
            contour=made.contour,
            core=made.core,
            landmarks=Landmarks(mesial_contact_mm=(4.0, 0.0, -6.0), distal_contact_mm=(4.0, 0.0, -6.0)),
        )


@needs_shared
@pytest.mark.parametrize(
    ("number", "neighbours", "mesial"),
    [("31", ("41", "32"), ("41", "32")), ("36", ("35", "37"), ("35", "37"))],
)
def test_real_lower_teeth(number: str, neighbours: tuple[str, ...], mesial: tuple[str, str]) -> None:
    contour, core = (
        mandible(number, "derived_target_outer_open"),
        mandible(number, "derived_coping_proxy_open"),
    )
    beside = tuple(mandible(n, "enamel") for n in neighbours)
    toward = beside[0].bounds_mm.mean(axis=0) - beside[1].bounds_mm.mean(axis=0)
    for given in (beside, beside[:1], ()):
        frame = find_frame(Tooth(number), contour=contour, core=core, neighbours=given)
        assert angle_deg(frame.axes[0], toward) < 22.0
        assert frame.axes[2, 2] > 0.9  # tips of lower teeth point up
        assert (frame.confidence >= 0.8) == bool(given)


@needs_shared
@pytest.mark.parametrize("number", ["31", "36"])
def test_a_closed_shell_over_its_root_finds_its_margin(number: str) -> None:
    open_one = find_frame(
        Tooth(number),
        contour=mandible(number, "derived_target_outer_open"),
        core=mandible(number, "derived_coping_proxy_open"),
    )
    closed = find_frame(Tooth(number), contour=mandible(number, "enamel"), core=mandible(number, "dentin"))
    assert np.linalg.norm(open_one.origin_mm - closed.origin_mm) < 0.5
    assert closed.height_mm == pytest.approx(open_one.height_mm, abs=0.3)


@needs_shared
@pytest.mark.parametrize(("number", "beside"), [("11", ("21", "12")), ("12", ("11", "13"))])
def test_real_upper_front_teeth_with_roots(number: str, beside: tuple[str, str]) -> None:
    from firstbake.teeth import crown_cap

    contour, neighbours = dundee(number), tuple(dundee(n) for n in beside)
    core = crown_cap(contour, tooth=Tooth(number))
    frame = find_frame(Tooth(number), contour=contour, core=core, neighbours=neighbours)
    toward = neighbours[0].bounds_mm.mean(axis=0) - neighbours[1].bounds_mm.mean(axis=0)
    assert angle_deg(frame.axes[0], toward) < 20.0
    assert frame.axes[2, 2] < -0.85 and frame.axes[1, 1] < -0.6
    assert frame.confidence >= 0.8
