"""Plans built by hand for the tests of sheet, PDF and pictures: closed forms, chosen figures."""

import dataclasses

import numpy as np

from firstbake.case import Allowances, Case, Limits, NamedSurface, Target
from firstbake.colour import ZoneColour
from firstbake.crown import Plan
from firstbake.firing import Programme
from firstbake.green import Calliper, Green, Mix
from firstbake.layering import Layer, Layers
from firstbake.mesh import Surface
from firstbake.powder import CoreMaterial, Figure, Optics, Powder
from firstbake.room import Contact, Region, Room
from firstbake.teeth import Frame, Landmarks, Tooth


def fig(value, unit="1"):
    return Figure(value, unit, "demo", "made up for this test")


OPTICS = Optics(np.array([400.0, 700.0]), np.ones(2), np.ones(2), 1.5, "demo", "made up for this test")


def powder(name, role, least=0.1):
    return Powder(
        name, role, True, fig(0.62), fig(0.99), fig(2.45), OPTICS, {}, fig(least, "mm"), fig(0.4, "ml/g")
    )


# share of the height, half width, half depth, shift toward the lip: an upper central incisor by eye
PROFILE = np.array(
    [
        [0.00, 3.1, 3.0, 0.0], [0.15, 3.5, 3.35, 0.1], [0.35, 4.0, 2.9, 0.3], [0.60, 4.25, 2.1, 0.55],
        [0.80, 4.25, 1.35, 0.60], [0.93, 4.1, 0.85, 0.45], [0.985, 3.8, 0.55, 0.35], [1.0, 3.2, 0.25, 0.3],
    ]
)  # fmt: skip


def shell(height_mm, *, inset=(0.0, 0.0), rings=60, around=120, low=0.0, axes, wide=1.0):
    """Rings of a superellipse from the margin to the edge, closed at the top, in local coordinates."""
    t = np.linspace(0, 1, rings)
    angle = np.linspace(0, 2 * np.pi, around, endpoint=False)
    inset_t = inset[0] + (inset[1] - inset[0]) * t
    half_x = np.maximum(np.interp(t, PROFILE[:, 0], PROFILE[:, 1]) * wide - inset_t, 0.2)
    half_y = np.maximum(np.interp(t, PROFILE[:, 0], PROFILE[:, 2]) - inset_t, 0.2)
    shift = np.interp(t, PROFILE[:, 0], PROFILE[:, 3])
    power = 0.8
    x = half_x[:, None] * np.sign(np.cos(angle)) * np.abs(np.cos(angle)) ** power
    y = shift[:, None] + half_y[:, None] * np.sign(np.sin(angle)) * np.abs(np.sin(angle)) ** power
    scallop = 0.5 * np.cos(2 * angle) * (1 - t[:, None]) ** 2
    z = low + (height_mm - low) * t[:, None] + scallop + np.zeros_like(x)
    local = np.stack([x, y, z], axis=-1).reshape(-1, 3)
    local = np.vstack([local, [[0, shift[-1], height_mm + 0.02]]])
    i, j = np.meshgrid(np.arange(rings - 1), np.arange(around), indexing="ij")
    a, b = i * around + j, i * around + (j + 1) % around
    faces = np.concatenate(
        [
            np.stack([a, b, b + around], -1).reshape(-1, 3),
            np.stack([a, b + around, a + around], -1).reshape(-1, 3),
        ]
    )
    last = (rings - 1) * around + np.arange(around)
    cap = np.stack([last, np.roll(last, -1), np.full(around, len(local) - 1)], -1)
    faces = np.vstack([faces, cap])
    if np.linalg.det(axes) < 0:
        faces = faces[:, ::-1]
    return local, faces


def frame_of(number, height_mm):
    tooth = Tooth(number)
    turn = np.linalg.qr(np.array([[0.9, 0.3, -0.2], [-0.3, 0.95, 0.1], [0.25, 0.0, 0.9]]).T)[0].T
    turn = turn * np.sign(np.diag(turn))[:, None]
    if np.linalg.det(turn) * tooth.handed < 0:
        turn[0] = -turn[0]
    azimuth = np.linspace(-np.pi, np.pi, 72, endpoint=False)
    return Frame(
        tooth, np.array([12.0, -30.0, 7.0]), turn, height_mm, 8.5, 7.0,
        azimuth, 0.5 * np.cos(2 * azimuth), "landmarks", 1.0,
    )  # fmt: skip


def programmes():
    common = {
        "dry_degC": 450.0, "vacuum_from_degC": 450.0, "status": "demo", "source": "made up for this test"
    }  # fmt: skip
    return (
        Programme(
            bake="wash", purpose="a thin first coat wets the core", dry_s=360, climb_K_per_min=55,
            peak_degC=930, low_degC=900, high_degC=950, hold_s=60, vacuum_to_degC=930,
            cool="as the core's maker says",
            cautions=("Nothing wet into a hot furnace (usual precaution).",), **common,
        ),
        Programme(
            bake="main", purpose="the whole build", dry_s=480, climb_K_per_min=45, peak_degC=910,
            low_degC=890, high_degC=930, hold_s=60, vacuum_to_degC=910,
            cool="slow, 4 min to 600 °C: sources disagree",
            cautions=("Bulky work dries at least 8 min, else steam bursts it (usual precaution).",), **common,
        ),
        Programme(
            bake="correction", purpose="what is missing is added", dry_s=360, climb_K_per_min=45,
            peak_degC=900, low_degC=880, high_degC=920, hold_s=60, vacuum_to_degC=900,
            cool="as the main bake",
            cautions=(), **common,
        ),
        Programme(
            bake="glaze", purpose="the surface closes by itself", dry_s=120, climb_K_per_min=55,
            peak_degC=890, low_degC=870, high_degC=910, hold_s=45, vacuum_to_degC=None, cool="bench",
            cautions=(), **{**common, "vacuum_from_degC": None},
        ),
    )  # fmt: skip


def callipers(tooth):
    outer, inner, edge = tooth.outer_word, tooth.inner_word, tooth.edge_word
    across = f"{outer.replace('al', 'o')}{inner}"
    return (
        Calliper(f"length, {outer} margin to {edge} edge", 10.80, 12.05, 0.15, 10.80),
        Calliper("mesiodistal, cervical third", 7.10, 7.95, 0.12, 7.10),
        Calliper("mesiodistal, middle third", 8.30, 9.15, 0.12, 8.30),
        Calliper(f"mesiodistal, {edge} third", 8.50, 9.40, 0.12, 8.50),
        Calliper(f"{across}, cervical third", 6.70, 7.35, 0.10, 6.70),
        Calliper(f"{across}, middle third", 4.90, 5.60, 0.10, 4.90),
        Calliper(f"{across}, {edge} third", 2.40, 3.05, 0.10, 2.40),
        Calliper(f"{edge} edge thickness, 1.5 mm below the edge", 1.30, 1.75, 0.08, 1.30),
        Calliper(f"cut-back, {outer} middle third", 0.35, 0.55, 0.06, 0.35),
        Calliper("cut-back, middle lobe tip to edge", 1.30, 1.95, 0.10, 1.30),
        Calliper(f"{edge} edge overbuild", 0.0, 1.15, 0.10, 0.0),
        Calliper("mesial contact overbuild", 0.0, 0.42, 0.05, 0.0),
    )


def zone(name, lab, target, de, words, weak=()):
    return ZoneColour(
        name,
        lab,
        target,
        de,
        1.2,
        (("demo-dentine-1", 0.6), ("demo-enamel-1", 0.25)),
        (0.80, 0.74, 0.64),
        words,
        weak,
    )


COLOURS = (
    zone("cervical", (75.0, 0.4, 16.0), (74.5, 2.0, 18.0), 2.1, "a little less red and yellow than wanted",
         ("The stump is dark and the layer thin: the neck may look greyer than computed.",)),
    zone("body", (75.4, 1.2, 16.5), (75.2, 1.3, 16.3), 0.4, "as wanted"),
    zone("incisal", (72.3, 0.0, 8.8), (72.0, 0.0, 9.5), 0.6, "as wanted"),
)  # fmt: skip


def region(kind, where, worst, at, vertices):
    return Region(
        kind, where, 2.1, worst, 0.15, at, vertices.astype(np.int32),
        ("thin the core there to 0.40 mm, its card allows it", "move the line angle out by 0.2 mm",
         "ask the dentist for 0.3 mm more reduction", "accept it: 2 mm² out of view"),
    )  # fmt: skip


def plan_of(number, *, code="DEMO-A", thin=1, powders=2, wide=1.0, rings=60, around=120):
    tooth = Tooth(number)
    height = 10.8 if tooth.is_front else 7.6
    frame = frame_of(number, height)
    size = {"rings": rings, "around": around, "axes": frame.axes, "wide": wide}

    def made(grow=0.0, top=0.0, low=0.0):
        local, faces = shell(height + top, inset=(-0.6 * grow, -grow), low=low, **size)
        return Surface(frame.to_file(local), faces)

    contour, green = made(), made(grow=0.42, top=1.15)
    core, cut = made(grow=-1.1, top=-2.0, low=0.1), made(grow=-0.4, top=-1.3, low=0.05)
    n = len(contour.vertices_mm)
    local = frame.to_local(contour.vertices_mm)
    share = np.clip(local[:, 2] / height, 0, 1)
    thickness = 0.55 + 1.1 * share**2
    spot = frame.to_file(np.array([[-2.4, 2.6, 1.6]]))[0]
    dent = np.exp(-np.sum((contour.vertices_mm - spot) ** 2, axis=1) / 1.5)
    thickness = thickness - 0.35 * dent
    enamel = np.clip(0.15 + 0.9 * share**3, 0, thickness - 0.2)
    places = (
        "distolabial, cervical third",
        "mesial, middle third",
        "palatal fossa",
        "distal, cervical third",
        "labial, cervical third",
        "mesiolabial, middle third",
        "palatal, cervical third",
        "mesial, cervical third",
    )
    found = tuple(
        region("thin", places[k], 0.35 + 0.01 * k, spot, np.flatnonzero(dent > 0.5)) for k in range(thin)
    )
    room = Room(
        thickness, thickness * 1.02, contour.vertices_mm, local[:, 2], np.ones(n, dtype=bool), 168.0, found,
        (), (Contact("21.stl", "mesial", 0.01, {0: 0.0, 20: 1.2, 50: 3.1}, 0.0, spot),), (),
    )  # fmt: skip
    roles = ("dentine", "enamel", "liner", "opaque-dentine", "transparent", "enamel")[:powders]
    bottles = tuple(powder(f"demo-{role}-{k + 1}", role) for k, role in enumerate(roles))
    parts = tuple(
        Layer(
            p,
            thickness - enamel if p.role == "dentine" else enamel / max(powders - 1, 1),
            110.0 - 10 * k,
            k + 1,
        )
        for k, p in enumerate(bottles)
    )
    layers = Layers(parts, cut, enamel, enamel, ())
    overbuild = 0.25 + 0.9 * share**2
    case = Case(
        code=code, tooth=tooth,
        contour=NamedSurface("contour.ply", contour), core=NamedSurface("core.stl", core),
        neighbours=(NamedSurface("21.stl", core),), opposing=(),
        core_material=CoreMaterial(
            "demo-zirconia", "zirconia", True, fig(0.4, "mm"), fig(0.5, "mm"), fig(2.0, "mm"), {},
            OPTICS, None, None,
        ),
        core_wall_mm=0.5, powders=bottles,
        target=Target((74.5, 2.0, 18.0), (75.2, 1.3, 16.3), (72.0, 0.0, 9.5), (52.0, 6.0, 20.0)),
        allowances=Allowances(0.10, 0.15, 0.35), limits=Limits(0.5, 2.0, 0.2, 0.15, 1.0),
        landmarks=Landmarks(), demo=True,
    )  # fmt: skip
    mixes = tuple(
        Mix(
            p.name,
            p.role,
            0.26 / (k + 1),
            0.40 / (k + 1),
            0.16 / (k + 1),
            1.2 if k else None,
            "EUR",
            lay_g=0.26 / (k + 1),
            cut_off_g=0.0,
        )
        for k, p in enumerate(bottles)
    )
    return Plan(
        case=case, frame=frame, room=room, layers=layers,
        green=Green(green, overbuild, cut, cut, 271.0, {}, share, 0.9987, "bonded-layer columns"),
        callipers=callipers(tooth), mix=mixes, colour=COLOURS, firing=programmes(), warnings=(),
    )  # fmt: skip


def changed(plan, **parts):
    return dataclasses.replace(plan, **parts)
