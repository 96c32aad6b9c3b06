"""Zones of a crown: which layers stand for each, what is said about it, and where the edge is free.

The crown here is a block with flat faces, so that every thickness is known: contour 2.0 mm thick and 10 mm
high, core 0.8 mm thick and 6 mm high in its middle plane, dentine 1.4 mm thick and 9 mm high.
"""

from dataclasses import replace

import numpy as np
import pytest
from invented_powders import optics_of

from firstbake.case import Allowances, Case, Limits, NamedSurface, Target
from firstbake.colour import delta_e00, predict_zones
from firstbake.colour.edge import look_back, through_edge, weighted_median
from firstbake.errors import BadCard, BadCase, BadInput
from firstbake.layering import Layer, Layers
from firstbake.mesh import Surface
from firstbake.powder import CoreMaterial, Figure, Powder, parametric_optics
from firstbake.room import Room
from firstbake.teeth import Frame, Landmarks, Tooth

HALF_X, HALF_Y, HEIGHT = 4.0, 1.0, 10.0


def figure(value: float, unit: str = "1") -> Figure:
    return Figure(value, unit, "demo", "invented for this test")


def powder(name: str, role: str, optics: str, *, demo: bool = True) -> Powder:
    return Powder(
        name,
        role,
        demo,
        figure(0.6),
        figure(0.99),
        figure(2.45),
        optics_of(optics, status="demo" if demo else "measured"),
        {},
        figure(0.2, "mm"),
        figure(0.3, "ml/g"),
    )


def block(half_x: float, half_y: float, height: float, *, steps: int = 40) -> Surface:
    """A block on the plane z = 0; every face is a grid of its own, so that normals are those of the faces."""
    low, high = np.array([-half_x, -half_y, 0.0]), np.array([half_x, half_y, height])
    vertices: list[np.ndarray] = []
    faces: list[np.ndarray] = []
    count = 0
    for axis in range(3):
        for side in (0, 1):
            u, v = (axis + 1) % 3, (axis + 2) % 3
            grid_u, grid_v = np.meshgrid(
                np.linspace(low[u], high[u], steps + 1),
                np.linspace(low[v], high[v], steps + 1),
                indexing="ij",
            )
            points = np.zeros((grid_u.size, 3))
            points[:, u], points[:, v] = grid_u.ravel(), grid_v.ravel()
            points[:, axis] = (low, high)[side][axis]
            i, j = np.meshgrid(np.arange(steps), np.arange(steps), indexing="ij")
            a = (i * (steps + 1) + j).ravel() + count
            b, c, d = a + steps + 1, a + steps + 2, a + 1
            rows = np.vstack([np.stack([a, b, c], -1), np.stack([a, c, d], -1)])
            faces.append(rows if side else rows[:, ::-1])
            vertices.append(points)
            count += len(points)
    return Surface(np.vstack(vertices), np.vstack(faces))


CONTOUR = block(HALF_X, HALF_Y, HEIGHT)
CORE = block(3.4, 0.4, 6.0, steps=10)
DENTINE = block(3.7, 0.7, 9.0, steps=10)
WHITE_CORE = CoreMaterial(
    "white core",
    "zirconia",
    True,
    figure(0.4, "mm"),
    figure(0.5, "mm"),
    figure(2.0, "mm"),
    {},
    parametric_optics(12.0, 0.6, 0.03, 0.9, kg_per_mm=0.01, index=2.2, source="invented for this test"),
    None,
    None,
)
METAL = replace(
    WHITE_CORE,
    name="grey metal",
    kind="metal",
    optics=None,
    reflectance_nm=np.arange(380.0, 741.0, 20.0),
    reflectance=np.full(19, 0.25),
)


def frame_of(number: str = "11") -> Frame:
    around = np.linspace(-np.pi, np.pi, 8, endpoint=False)
    axes = np.eye(3)
    return Frame(Tooth(number), np.zeros(3), axes, HEIGHT, 8.0, 2.0, around, np.zeros(8), "by hand", 1.0)


def room_of(veneered: np.ndarray) -> Room:
    count = len(CONTOUR.vertices_mm)
    thickness = np.full(count, 0.6)
    return Room(thickness, thickness, CONTOUR.vertices_mm, np.full(count, 5.0), veneered, 1.0, (), (), (), ())


def layers_of(*powders: Powder, each_mm: tuple[float, ...], cut_back: bool = True) -> Layers:
    count = len(CONTOUR.vertices_mm)
    made = tuple(
        Layer(p, np.full(count, mm), 1.0, order + 1)
        for order, (p, mm) in enumerate(zip(powders, each_mm, strict=True))
    )
    nothing = np.zeros(count)
    return Layers(made, DENTINE if cut_back else None, nothing, nothing, ())


def case_of(
    powders: tuple[Powder, ...],
    *,
    target: Target | None = None,
    core: CoreMaterial = WHITE_CORE,
    number: str = "11",
) -> Case:
    return Case(
        "TEST",
        Tooth(number),
        NamedSurface("contour", CONTOUR),
        NamedSurface("core", CORE),
        (),
        (),
        core,
        0.5,
        powders,
        target or Target((74.5, 2.0, 18.0), (75.2, 1.3, 16.3), (72.0, 0.0, 9.5), (52.0, 6.0, 20.0)),
        Allowances(0.0, 0.0, 0.35),
        Limits(0.5, 2.0, 0.3, 0.15, 1.0),
        Landmarks(),
    )


BODY, SKIN = powder("body", "dentine", "dentine 3"), powder("skin", "enamel", "enamel mid")
EVERYWHERE = np.ones(len(CONTOUR.vertices_mm), dtype=bool)


def test_each_zone_has_its_stack_its_colour_and_its_words() -> None:
    case = case_of((BODY, SKIN))
    found = predict_zones(
        case, frame_of(), room_of(EVERYWHERE), layers=layers_of(BODY, SKIN, each_mm=(0.35, 0.25))
    )
    assert [z.zone for z in found] == ["cervical", "body", "incisal"]
    for zone in found[:2]:
        assert zone.stack_mm == (("white core", 0.5), ("body", 0.35), ("skin", 0.25))
        assert zone.target is not None
        assert zone.delta_e00 == pytest.approx(float(delta_e00(zone.lab, zone.target)))
    for zone in found:
        assert 0.3 < zone.doubt_delta_e00 < 4.0
        assert all(0.0 <= channel <= 1.0 for channel in zone.srgb)
        assert zone.words
    assert found[0].lab == found[1].lab
    assert sum("invented optics" in sentence for zone in found for sentence in zone.weak) == 1


def test_the_free_edge_is_cut_straight_through_from_back_to_front() -> None:
    # front vertices above 6.67 mm; the dentine block ends at 9 mm and 3.7 mm to each side
    case = case_of((BODY, SKIN))
    edge = predict_zones(
        case, frame_of(), room_of(EVERYWHERE), layers=layers_of(BODY, SKIN, each_mm=(0.35, 0.25))
    )[2]
    names = [name for name, _ in edge.stack_mm]
    parts = np.array([mm for _, mm in edge.stack_mm])
    assert names == ["skin", "body", "skin"]
    assert parts.sum() == pytest.approx(2.0, abs=0.01)
    with_dentine = (9.0 - 20 / 3) / (10 / 3) * 3.7 / 4.0
    assert parts[1] == pytest.approx(1.4 * with_dentine, abs=0.06)
    assert parts[0] == pytest.approx(parts[2], abs=0.01)
    assert any("no core behind" in sentence.lower() for sentence in edge.weak)


def test_coats_on_the_core_do_not_run_into_the_free_edge_and_transparent_lies_outermost() -> None:
    coat, clear = powder("coat", "liner", "opaque mid"), powder("clear", "transparent", "transparent clear")
    layers = layers_of(coat, BODY, SKIN, clear, each_mm=(0.1, 0.25, 0.15, 0.05))
    front = np.flatnonzero(
        (CONTOUR.vertex_normals[:, 1] > 0.9)
        & (CONTOUR.vertices_mm[:, 2] > 7.0)
        & (CONTOUR.vertices_mm[:, 2] < 8.9)
        & (np.abs(CONTOUR.vertices_mm[:, 0]) < 3.5)
    )
    case = case_of((coat, BODY, SKIN, clear))
    assert look_back(case, frame_of(), front).all()
    stack = through_edge(case, frame_of(), layers, vertices=front)
    assert [p.name for p, _ in stack] == ["clear", "skin", "body", "skin", "clear"]
    # 0.3 mm outside the dentine on each side, shared 3 to 1
    assert [mm for _, mm in stack] == pytest.approx([0.075, 0.225, 1.4, 0.225, 0.075], abs=2e-3)


def test_one_powder_fills_the_free_edge_and_a_core_behind_means_not_free() -> None:
    case = case_of((BODY,))
    edge = predict_zones(
        case, frame_of(), room_of(EVERYWHERE), layers=layers_of(BODY, each_mm=(0.6,), cut_back=False)
    )[2]
    assert edge.stack_mm == (("body", pytest.approx(2.0, abs=5e-3)),)
    low = np.flatnonzero((CONTOUR.vertex_normals[:, 1] > 0.9) & (CONTOUR.vertices_mm[:, 2] < 5.9))
    inside = low[np.abs(CONTOUR.vertices_mm[low, 0]) < 3.3]
    inside = inside[CONTOUR.vertices_mm[inside, 2] > 0.1]
    assert not look_back(case, frame_of(), inside).any()


def test_the_top_of_a_molar_is_never_taken_for_a_free_edge() -> None:
    case = case_of((BODY, SKIN), number="46")
    top = predict_zones(
        case, frame_of("46"), room_of(EVERYWHERE), layers=layers_of(BODY, SKIN, each_mm=(0.35, 0.25))
    )[2]
    assert top.zone == "incisal"
    assert top.stack_mm == (("white core", 0.5), ("body", 0.35), ("skin", 0.25))


def test_only_the_side_that_is_seen_counts() -> None:
    case = case_of((BODY, SKIN))
    layers = layers_of(BODY, SKIN, each_mm=(0.35, 0.25))
    behind = CONTOUR.vertices_mm[:, 1] < 0
    thick = np.where(behind, 1.2, 0.35)
    layers = replace(layers, layers=(replace(layers.layers[0], thickness_mm=thick), layers.layers[1]))
    body = predict_zones(case, frame_of(), room_of(EVERYWHERE), layers=layers)[1]
    assert dict(body.stack_mm)["body"] == 0.35


def test_a_darker_stump_takes_red_and_yellow_from_the_neck_and_metal_hides_it() -> None:
    layers = layers_of(BODY, SKIN, each_mm=(0.35, 0.25))

    def neck(core: CoreMaterial, stump: tuple[float, float, float]) -> np.ndarray:
        case = case_of((BODY, SKIN), target=Target(stump=stump), core=core)
        return np.array(predict_zones(case, frame_of(), room_of(EVERYWHERE), layers=layers)[0].lab)

    _, red, yellow = neck(WHITE_CORE, (52.0, 6.0, 20.0)) - neck(WHITE_CORE, (72.0, 4.0, 21.0))
    assert red < -0.3
    assert yellow < -0.3
    assert neck(METAL, (52.0, 6.0, 20.0)) == pytest.approx(neck(METAL, (72.0, 4.0, 21.0)), abs=0)
    assert neck(METAL, (72.0, 4.0, 21.0))[0] < neck(WHITE_CORE, (72.0, 4.0, 21.0))[0]


def test_without_orders_an_ordinary_stump_is_assumed_and_said() -> None:
    case = case_of((BODY, SKIN), target=Target())
    found = predict_zones(
        case, frame_of(), room_of(EVERYWHERE), layers=layers_of(BODY, SKIN, each_mm=(0.35, 0.25))
    )
    assert all(zone.target is None and zone.delta_e00 is None for zone in found)
    assert found[0].words == "no colour was ordered for this zone"
    assert any("ordinary dentine is assumed" in sentence for sentence in found[0].weak)
    given = predict_zones(
        case_of((BODY, SKIN)),
        frame_of(),
        room_of(EVERYWHERE),
        layers=layers_of(BODY, SKIN, each_mm=(0.35, 0.25)),
    )
    assert not any("assumed" in sentence for zone in given for sentence in zone.weak)
    assert found[0].doubt_delta_e00 > given[0].doubt_delta_e00


def test_thin_clear_layers_over_a_free_back_are_called_weak() -> None:
    clear = powder("clear", "transparent", "transparent clear")
    case = case_of((clear,))
    edge = predict_zones(
        case, frame_of(), room_of(EVERYWHERE), layers=layers_of(clear, each_mm=(0.6,), cut_back=False)
    )[2]
    assert any("thin or clear" in sentence for sentence in edge.weak)
    assert edge.doubt_delta_e00 > 3.0


def test_a_zone_without_porcelain_is_left_out_and_said() -> None:
    case = case_of((BODY, SKIN))
    layers = layers_of(BODY, SKIN, each_mm=(0.35, 0.25))
    upper = room_of(CONTOUR.vertices_mm[:, 2] > 4.0)
    found = predict_zones(case, frame_of(), upper, layers=layers)
    assert [z.zone for z in found] == ["body", "incisal"]
    assert any("cervical zone has no porcelain" in sentence for sentence in found[0].weak)
    with pytest.raises(BadCase, match="core and contour"):
        predict_zones(case, frame_of(), room_of(~EVERYWHERE), layers=layers)


def test_a_core_card_without_optics_or_reflectance_and_an_unknown_geometry_are_refused() -> None:
    layers = layers_of(BODY, SKIN, each_mm=(0.35, 0.25))
    bare = replace(METAL, reflectance=None, reflectance_nm=None)
    with pytest.raises(BadCard, match="neither optics nor a reflectance"):
        predict_zones(case_of((BODY, SKIN), core=bare), frame_of(), room_of(EVERYWHERE), layers=layers)
    with pytest.raises(BadInput, match="geometry"):
        by_eye = case_of((BODY, SKIN), target=Target(geometry="by eye"))
        predict_zones(by_eye, frame_of(), room_of(EVERYWHERE), layers=layers)


def test_the_weighted_median_has_half_of_the_weight_on_each_side() -> None:
    assert weighted_median(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 1.0])) == 2.0
    assert weighted_median(np.array([1.0, 2.0, 9.0]), np.array([1.0, 1.0, 5.0])) == 9.0
    assert weighted_median(np.array([1.0, 2.0, 9.0]), np.zeros(3)) == 2.0
