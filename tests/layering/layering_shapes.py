"""Small cases made by hand: spheres and slabs of porcelain, and powders invented for the tests."""

from collections.abc import Callable

import numpy as np

from firstbake.case import Allowances, Case, Limits, NamedSurface, Target
from firstbake.layering import CutBack
from firstbake.mesh import Surface, nearest
from firstbake.powder import CoreMaterial, Figure, Optics, Powder
from firstbake.room import Room
from firstbake.teeth import Frame, Landmarks, Tooth


def figure(value: float, unit: str = "1") -> Figure:
    return Figure(value, unit, "demo", "invented for a test")


def optics() -> Optics:
    w = np.array([400.0, 700.0])
    return Optics(w, np.full(2, 0.1), np.full(2, 2.0), 1.5, "demo", "invented for a test")


def powder(role: str, *, name: str | None = None, layer_mm: float | None = None) -> Powder:
    return Powder(
        name=name or f"demo-{role}",
        role=role,
        demo=True,
        green_relative_density=figure(0.60),
        fired_relative_density=figure(0.97),
        solid_density_g_per_cm3=figure(2.45, "g/cm3"),
        optics=optics(),
        thermal={},
        least_mm=figure(0.1, "mm"),
        liquid_ml_per_g=figure(0.3, "ml/g"),
        layer_mm=None if layer_mm is None else figure(layer_mm, "mm"),
    )


def core_material(kind: str = "zirconia") -> CoreMaterial:
    wall = figure(0.4, "mm")
    return CoreMaterial(kind, kind, True, wall, wall, figure(2.0, "mm"), {}, optics(), None, None)


def sphere(radius_mm: float, *, around: int = 120, centre: tuple[float, float, float] = (0, 0, 0)) -> Surface:
    """Closed sphere of latitude rows with its vertices exactly on the sphere."""
    polar = np.linspace(0, np.pi, around // 2 + 1)[1:-1]
    turn = np.arange(around) * 2 * np.pi / around
    rows, places = len(polar), np.arange(around)
    ring = np.stack(
        [
            np.outer(np.sin(polar), np.cos(turn)),
            np.outer(np.sin(polar), np.sin(turn)),
            np.outer(np.cos(polar), np.ones(around)),
        ],
        axis=-1,
    ).reshape(-1, 3)
    points = np.vstack([ring, [[0, 0, 1], [0, 0, -1]]])
    following = (places + 1) % around
    start = (np.arange(rows - 1) * around)[:, None]
    a, b = (start + places).ravel(), (start + following).ravel()
    last = (rows - 1) * around
    faces = np.vstack(
        [
            np.column_stack([a, a + around, b + around]),
            np.column_stack([a, b + around, b]),
            np.column_stack([np.full(around, len(ring)), places, following]),
            np.column_stack([np.full(around, len(ring) + 1), last + following, last + places]),
        ]
    )
    return Surface(points * radius_mm + np.array(centre), faces)


def block(low: tuple[float, float, float], high: tuple[float, float, float]) -> Surface:
    """Closed box of twelve triangles."""
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    faces = [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]
    return Surface(np.array(low) + corners * (np.array(high) - np.array(low)), np.array(faces))


def frame_of(number: str = "11", half_mm: float = 5.0) -> Frame:
    """Axes along x, y, z about the origin with a margin far below."""
    azimuth = np.linspace(-np.pi, np.pi, 8, endpoint=False)
    return Frame(
        tooth=Tooth(number),
        origin_mm=np.zeros(3),
        axes=np.eye(3),
        height_mm=half_mm,
        width_mm=2 * half_mm,
        depth_mm=2 * half_mm,
        margin_azimuth_rad=azimuth,
        margin_z_mm=np.full(8, -half_mm),
        method="by hand",
        confidence=1.0,
    )


def room_between(contour: Surface, core: Surface) -> Room:
    """Room of a closed core in a closed contour without a margin."""
    found = nearest(core, contour.vertices_mm)
    n = len(contour.vertices_mm)
    return Room(
        thickness_mm=found.distance_mm,
        along_normal_mm=np.full(n, np.nan),
        foot_mm=found.foot_mm,
        margin_mm=np.full(n, np.inf),
        veneered=np.ones(n, dtype=bool),
        volume_mm3=contour.volume_mm3 - core.volume_mm3,
        thin=(),
        unsupported=(),
        contacts=(),
        clearance=(),
    )


def even(enamel_mm: float, *, least_enamel_mm: float = 0.1, least_dentine_mm: float = 0.2) -> CutBack:
    """The same enamel everywhere: no zones, no lobes, no fade."""
    return CutBack(
        cervical_mm=enamel_mm,
        middle_mm=enamel_mm,
        edge_mm=enamel_mm,
        inner_share=1.0,
        fissure_mm=enamel_mm,
        least_enamel_mm=least_enamel_mm,
        least_dentine_mm=least_dentine_mm,
        fade_mm=0.0,
        room_share=1.0,
    )


LIMITS = Limits(
    least_veneer_mm=0.5,
    most_unsupported_mm=2.0,
    least_dentine_mm=0.25,
    least_enamel_mm=0.15,
    margin_band_mm=1.0,
)


def case_of(
    contour: Surface,
    core: Surface,
    *roles: str | Powder,
    tooth: str = "11",
    material: str = "zirconia",
    landmarks: Landmarks | None = None,
) -> Case:
    make: Callable[[str | Powder], Powder] = lambda p: p if isinstance(p, Powder) else powder(p)  # noqa: E731
    return Case(
        code="TEST",
        tooth=Tooth(tooth),
        contour=NamedSurface("contour", contour),
        core=NamedSurface("core", core),
        neighbours=(),
        opposing=(),
        core_material=core_material(material),
        core_wall_mm=0.5,
        powders=tuple(make(p) for p in roles),
        target=Target(),
        allowances=Allowances(0.0, 0.0, 0.35),
        limits=LIMITS,
        landmarks=landmarks or Landmarks(),
    )
