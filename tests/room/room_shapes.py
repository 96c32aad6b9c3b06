"""Tiny cases for the room: spheres, cups and teeth with everything else filled in."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Allowances, Case, Limits, NamedSurface, Target
from firstbake.mesh import Surface
from firstbake.powder import CoreMaterial, Figure
from firstbake.teeth import Frame, Landmarks, Tooth

Floats = NDArray[np.float64]


def sphere(radius_mm: float, *, rings: int = 60, centre: tuple[float, float, float] = (0, 0, 0)) -> Surface:
    """Closed latitude-longitude sphere of 4 rings² - 4 rings triangles, pole along z."""
    return _turned(radius_mm, np.linspace(0, np.pi, rings + 1), centre=centre)


def cup(
    radius_mm: float,
    *,
    down_to: float = np.pi / 2,
    rings: int = 40,
    centre: tuple[float, float, float] = (0, 0, 0),
) -> Surface:
    """Open cap of a sphere from the pole down to the polar angle `down_to`, radians."""
    return _turned(radius_mm, np.linspace(0, down_to, rings + 1), centre=centre)


def _turned(radius_mm: float, polar: Floats, *, centre: tuple[float, float, float]) -> Surface:
    around = 2 * (len(polar) - 1)
    turn = np.linspace(0, 2 * np.pi, around, endpoint=False)
    closed = np.isclose(polar[-1], np.pi)
    inner = polar[1:-1] if closed else polar[1:]
    rows = [
        np.column_stack([np.sin(p) * np.cos(turn), np.sin(p) * np.sin(turn), np.full(around, np.cos(p))])
        for p in inner
    ]
    points = [np.array([[0, 0, 1.0]]), *rows]
    if closed:
        points.append(np.array([[0, 0, -1.0]]))
    vertices = np.vstack(points) * radius_mm + np.array(centre)
    return Surface(vertices, _turned_faces(len(inner), around, closed=closed))


def _turned_faces(rows: int, around: int, *, closed: bool) -> NDArray[np.int32]:
    k = np.arange(around)
    after = (k + 1) % around
    faces = [np.column_stack([np.zeros(around, dtype=int), 1 + k, 1 + after])]
    for row in range(rows - 1):
        up, down = 1 + row * around, 1 + (row + 1) * around
        faces.append(np.column_stack([up + k, down + k, down + after]))
        faces.append(np.column_stack([up + k, down + after, up + after]))
    if closed:
        last = 1 + (rows - 1) * around
        faces.append(np.column_stack([last + k, np.full(around, 1 + rows * around), last + after]))
    return np.vstack(faces).astype(np.int32)


def inside_out(surface: Surface) -> Surface:
    """The same surface turned inside out."""
    return Surface(surface.vertices_mm, surface.faces[:, ::-1])


def lidded(outer: Surface, inner: Surface) -> Surface:
    """A closed hollow shell: two cups with the same columns, and the band between their rims."""
    both = joined(outer, inside_out(inner))
    rim, lip = outer.loops[0], inner.loops[0] + len(outer.vertices_mm)
    rim = np.roll(rim, -int(np.argmin(rim)))
    lip = np.roll(lip, -int(np.argmin(lip)))
    after_rim, after_lip = np.roll(rim, -1), np.roll(lip, -1)
    band = np.vstack([np.column_stack([after_rim, rim, lip]), np.column_stack([after_rim, lip, after_lip])])
    return Surface(both.vertices_mm, np.vstack([both.faces, band]).astype(np.int32))


def joined(*surfaces: Surface) -> Surface:
    """Several bodies in one surface."""
    starts = np.cumsum([0, *(len(s.vertices_mm) for s in surfaces[:-1])])
    faces = [s.faces + start for s, start in zip(surfaces, starts, strict=True)]
    return Surface(np.vstack([s.vertices_mm for s in surfaces]), np.vstack(faces))


def upright(tooth: str = "11", *, height_mm: float = 5.0) -> Frame:
    """A frame along the file's axes with a level margin at z = 0 (mesial +x, labial +y, incisal +z)."""
    return Frame(
        tooth=Tooth(tooth),
        origin_mm=np.zeros(3),
        axes=np.eye(3),
        height_mm=height_mm,
        width_mm=10.0,
        depth_mm=10.0,
        margin_azimuth_rad=np.array([-np.pi, 0.0]),
        margin_z_mm=np.zeros(2),
        method="set by the test",
        confidence=1.0,
    )


def _figure(value: float, unit: str = "mm") -> Figure:
    return Figure(value, unit, "demo", "set by the test")


def material(kind: str = "zirconia", *, least: float = 0.4, usual: float = 0.5) -> CoreMaterial:
    """A core material with the walls that the choices read."""
    return CoreMaterial(
        name=f"demo-{kind}",
        kind=kind,
        demo=True,
        least_wall_mm=_figure(least),
        usual_wall_mm=_figure(usual),
        most_unsupported_mm=_figure(2.0),
        thermal={},
        optics=None,
        reflectance_nm=None,
        reflectance=None,
    )


def case_of(
    contour: Surface,
    core: Surface,
    *,
    neighbours: tuple[Surface, ...] = (),
    opposing: tuple[Surface, ...] = (),
    tooth: str = "11",
    least_veneer_mm: float = 0.6,
    most_unsupported_mm: float = 2.0,
    margin_band_mm: float = 1.0,
    core_material: CoreMaterial | None = None,
    core_wall_mm: float = 0.5,
) -> Case:
    """A case with only the surfaces and limits set."""
    return Case(
        code="TEST",
        tooth=Tooth(tooth),
        contour=NamedSurface("contour.stl", contour),
        core=NamedSurface("core.stl", core),
        neighbours=tuple(NamedSurface(f"neighbour-{k}.stl", s) for k, s in enumerate(neighbours)),
        opposing=tuple(NamedSurface(f"opposing-{k}.stl", s) for k, s in enumerate(opposing)),
        core_material=core_material or material(),
        core_wall_mm=core_wall_mm,
        powders=(),
        target=Target(),
        allowances=Allowances(0.0, 0.0, 0.35),
        limits=Limits(least_veneer_mm, most_unsupported_mm, 0.3, 0.15, margin_band_mm),
        landmarks=Landmarks(),
    )


def tilted(frame: Frame, up: Floats) -> Frame:
    """The frame with its incisal axis along `up`."""
    z = np.asarray(up) / np.linalg.norm(up)
    y = np.cross(z, [1.0, 0.0, 0.0])
    y /= np.linalg.norm(y)
    return replace(frame, axes=np.vstack([np.cross(y, z), y, z]))
