"""Small cases made by hand: a sphere or ellipsoid of porcelain over a sphere, and a free bar on a block."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from firstbake.case import Allowances, Case, Limits, NamedSurface, Target
from firstbake.layering import Layer, Layers
from firstbake.mesh import Surface, nearest, volume_between
from firstbake.powder import CoreMaterial, Figure, Optics, Powder
from firstbake.room import Room
from firstbake.teeth import Frame, Landmarks, Tooth

Floats = np.ndarray


def figure(value: float, unit: str = "1", low: float | None = None, high: float | None = None) -> Figure:
    return Figure(value, unit, "demo", "invented for a test", low, high)


def optics() -> Optics:
    w = np.array([400.0, 700.0])
    return Optics(w, np.full(2, 0.1), np.full(2, 2.0), 1.5, "demo", "invented for a test")


def powder(
    role: str = "dentine", *, green: float = 0.60, fired: float = 0.98, name: str | None = None
) -> Powder:
    return Powder(
        name=name or f"demo-{role}",
        role=role,
        demo=True,
        green_relative_density=figure(green),
        fired_relative_density=figure(fired),
        solid_density_g_per_cm3=figure(2.45, "g/cm3"),
        optics=optics(),
        thermal={},
        least_mm=figure(0.3, "mm"),
        liquid_ml_per_g=figure(0.3, "ml/g"),
        price_per_g=figure(2.0, "EUR/g"),
        currency="EUR",
    )


def zirconia() -> CoreMaterial:
    wall = figure(0.5, "mm")
    return CoreMaterial("zirconia", "zirconia", True, wall, wall, figure(2.0, "mm"), {}, optics(), None, None)


def ball(radius: float, subdivisions: int = 4, scale: tuple[float, float, float] = (1, 1, 1)) -> Surface:
    """Icosphere with its vertices on the sphere, stretched by scale."""
    g = (1 + 5**0.5) / 2
    quarter = [(i * a, j * b, 0.0) for i, j in ((-1, 1), (1, 1), (-1, -1), (1, -1)) for a, b in [(1.0, g)]]
    v = np.array([np.roll(p, k) for k in (0, 1, 2) for p in quarter])
    f = np.array(ConvexHull(v).simplices)
    turned = np.einsum("ij,ij->i", np.cross(v[f[:, 1]] - v[f[:, 0]], v[f[:, 2]] - v[f[:, 0]]), v[f[:, 0]]) < 0
    f[turned] = f[turned][:, ::-1]
    for _ in range(subdivisions):
        edges = np.sort(f[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
        unique, number = np.unique(edges, axis=0, return_inverse=True)
        middle = (number.reshape(-1, 3) + len(v)).astype(int)
        v = np.vstack([v, v[unique].mean(axis=1)])
        a, b, c = f.T
        ab, bc, ca = middle.T
        f = np.vstack([np.c_[a, ab, ca], np.c_[b, bc, ab], np.c_[c, ca, bc], np.c_[ab, bc, ca]])
    return Surface(radius * v / np.linalg.norm(v, axis=1, keepdims=True) * np.array(scale), f)


def box(size: tuple[float, float, float], step: float, centre: tuple[float, float, float]) -> Surface:
    """Closed box of square cells split into triangles."""
    points, faces, count = [], [], 0
    for axis in range(3):
        for side in (-1, 1):
            i, j = [(1, 2), (2, 0), (0, 1)][axis]
            m, n = (max(1, round(size[k] / step)) for k in (i, j))
            u, w = np.meshgrid(np.linspace(-0.5, 0.5, m + 1), np.linspace(-0.5, 0.5, n + 1), indexing="ij")
            p = np.zeros((u.size, 3))
            p[:, i], p[:, j], p[:, axis] = u.ravel() * size[i], w.ravel() * size[j], side * 0.5 * size[axis]
            a = (np.arange(m)[:, None] * (n + 1) + np.arange(n)[None]).ravel() + count
            quads = np.c_[a, a + n + 1, a + n + 2, a + 1]
            quads = quads if side > 0 else quads[:, ::-1]
            points.append(p)
            faces += [quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]
            count += len(p)
    v = np.vstack(points) + np.array(centre)
    key, number = np.unique(np.round(v, 9), axis=0, return_inverse=True)
    return Surface(key, number.ravel()[np.vstack(faces)])


def upright(number: str, surface: Surface, margin_z_mm: float) -> Frame:
    """Frame with x mesial, y labial, z incisal along the file's axes, and a level margin."""
    tooth, (low, high) = Tooth(number), surface.bounds_mm
    origin = np.array([0.0, 0.0, margin_z_mm])
    azimuth = np.linspace(-np.pi, np.pi, 9)[:-1]
    return Frame(
        tooth, origin, np.eye(3), float(high[2] - margin_z_mm), float(high[0] - low[0]),
        float(high[1] - low[1]), azimuth, np.zeros(8), "made by hand", 1.0,
    )  # fmt: skip


@dataclass(frozen=True)
class Made:
    case: Case
    frame: Frame
    room: Room
    layers: Layers


def made(
    contour: Surface,
    core: Surface,
    powders: tuple[Powder, ...],
    *,
    shares: tuple[float, ...] = (1.0,),
    cut_back: Surface | None = None,
    cut_volume: float | None = None,
    grind_off: float = 0.0,
    contact: float = 0.0,
    waste: float = 0.35,
    neighbours: tuple[Surface, ...] = (),
    size_doubt: float = 0.0,
    number: str = "11",
    margin_z_mm: float | None = None,
) -> Made:
    """A case, frame, room and layers with each powder taking a share of the thickness."""
    n = len(contour.vertices_mm)
    case = Case(
        code="TEST",
        tooth=Tooth(number),
        contour=NamedSurface("contour", contour),
        core=NamedSurface("core", core),
        neighbours=tuple(NamedSurface(f"neighbour {k + 1}", s) for k, s in enumerate(neighbours)),
        opposing=(),
        core_material=zirconia(),
        core_wall_mm=0.5,
        powders=powders,
        target=Target(),
        allowances=Allowances(grind_off, contact, waste),
        limits=Limits(0.3, 2.0, 0.3, 0.1, margin_band_mm=0.5),
        landmarks=Landmarks(),
        size_doubt_mm=size_doubt,
    )
    found = nearest(core, contour.vertices_mm)
    volume = volume_between(contour, core)
    room = Room(
        found.distance_mm, found.distance_mm, found.foot_mm, np.full(n, np.inf),
        found.distance_mm > 1e-9, volume, (), (), (), (),
    )  # fmt: skip
    volumes = [volume * s for s in shares] if cut_volume is None else [cut_volume, volume - cut_volume]
    stack = tuple(
        Layer(p, found.distance_mm * s, v, k + 1)
        for k, (p, s, v) in enumerate(zip(powders, shares, volumes, strict=True))
    )
    none = np.zeros(n)
    layers = Layers(stack, cut_back, none if len(shares) == 1 else found.distance_mm * shares[-1], none, ())
    low = float(contour.bounds_mm[0, 2]) if margin_z_mm is None else margin_z_mm
    return Made(case, upright(number, contour, low), room, layers)


Make = Callable[..., Made]


@pytest.fixture(scope="session")
def shell() -> Made:
    """One powder, 1 mm over a ball of radius 3 mm."""
    return made(ball(4.0), ball(3.0), (powder(),))
