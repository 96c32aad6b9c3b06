"""Contacts: gap, area and overlap with each neighbour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.case import Case, NamedSurface
from firstbake.errors import BadMesh
from firstbake.mesh import Surface, face_components, overlap_volume, sub_surface
from firstbake.room.gap import area_within_mm2, least_gap
from firstbake.room.room import Contact
from firstbake.room.sides import approach, whole_faces
from firstbake.teeth import Frame

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

TOLERANCES_UM = (0, 20, 50)
_REACH_MM = 2.0
"""Bodies of a row whose boxes are farther away than this do not touch the crown."""
_SAME_PLACE_MM = 0.3
_SAME_SHARE = 0.6
_SAME_AREA = 0.3
"""A body is the tooth itself when this share of what lies in the contour's box is inside the contour or
within 0.3 mm of it, and that is more than 0.3 of the contour's area (chosen here)."""


@dataclass(frozen=True, eq=False)
class _Side:
    """What one file shows on one side of the crown."""

    name: str
    side: str
    bodies: tuple[Surface, ...]


def contacts_of(case: Case, frame: Frame, veneered: Flags) -> tuple[tuple[Contact, ...], tuple[str, ...]]:
    """Contact with each neighbour, and notes on what was left out.

    A file may hold a whole row: the bodies on each side near the crown count as one neighbour, and a
    body in the place of the crown itself is left out.
    """
    contour = case.contour.surface
    counts = whole_faces(contour, veneered)
    contacts, notes = [], []
    for neighbour in case.neighbours:
        sides, said = _sides_of(neighbour, contour, frame)
        notes += said
        contacts += [_contact(contour, side, counts=counts) for side in sides]
    return tuple(contacts), tuple(notes)


def neighbour_bodies(case: Case) -> tuple[Surface, ...]:
    """The single teeth near the crown out of all neighbour files, without the crown's own place."""
    contour = case.contour.surface
    bodies = [body for n in case.neighbours for body in _bodies(n.surface) if not _same_tooth(body, contour)]
    return _near(bodies, contour) if bodies else ()


def _contact(contour: Surface, side: _Side, *, counts: Flags) -> Contact:
    other = side.bodies[0] if len(side.bodies) == 1 else _together(side.bodies)
    gap = least_gap(contour, other, counts=counts)
    tolerances = np.array(TOLERANCES_UM) / 1000
    areas = area_within_mm2(contour, other, counts=counts, tolerances_mm=tolerances)
    overlap = sum(_overlap_mm3(contour, body, side.name) for body in side.bodies) if gap.least_mm < 0 else 0.0
    return Contact(
        neighbour=side.name,
        side=side.side,
        gap_mm=gap.least_mm,
        area_mm2={tolerance: float(area) for tolerance, area in zip(TOLERANCES_UM, areas, strict=True)},
        overlap_mm3=overlap,
        at_mm=gap.at_mm.copy(),
    )


def _overlap_mm3(contour: Surface, body: Surface, name: str) -> float:
    try:
        return overlap_volume(contour, body)
    except BadMesh as fault:
        raise BadMesh(f"the overlap of the contour with {name} has no volume: {fault}") from fault


def _together(bodies: tuple[Surface, ...]) -> Surface:
    starts = np.cumsum([0, *(len(body.vertices_mm) for body in bodies[:-1])])
    faces = [body.faces + start for body, start in zip(bodies, starts, strict=True)]
    return Surface(np.vstack([body.vertices_mm for body in bodies]), np.vstack(faces).astype(np.int32))


def _sides_of(neighbour: NamedSurface, contour: Surface, frame: Frame) -> tuple[list[_Side], list[str]]:
    bodies, notes = [], []
    for body in _bodies(neighbour.surface):
        if _same_tooth(body, contour):
            notes.append(f"{neighbour.name} holds the tooth itself; that body was left out")
            continue
        parts = _split_at_crown(body, contour, frame)
        bodies += parts
        if len(parts) > 1:
            notes.append(
                f"{neighbour.name} runs past the crown on both sides as one surface; gum or stump in it "
                "would be taken for a contact"
            )
    if not bodies:
        notes.append(f"{neighbour.name} holds no neighbour, so no contact was measured with it")
    sides = []
    for word in ("mesial", "distal"):
        here = [body for body in bodies if _side_of(body, contour, frame) == word]
        if here:
            sides.append(_Side(neighbour.name, word, _near(here, contour)))
    return sides, notes


def _bodies(surface: Surface) -> list[Surface]:
    number = face_components(surface.faces, len(surface.vertices_mm))
    if number.max() == 0:
        return [surface]
    return [sub_surface(surface, number == k)[0] for k in range(int(number.max()) + 1)]


def _box_gap_mm(a: Surface, b: Surface) -> float:
    (a_low, a_high), (b_low, b_high) = a.bounds_mm, b.bounds_mm
    apart = np.maximum(np.maximum(a_low - b_high, b_low - a_high), 0.0)
    return float(np.linalg.norm(apart))


def _near(bodies: list[Surface], contour: Surface) -> tuple[Surface, ...]:
    gaps = [_box_gap_mm(body, contour) for body in bodies]
    near = tuple(body for body, gap in zip(bodies, gaps, strict=True) if gap <= _REACH_MM)
    return near or (bodies[int(np.argmin(gaps))],)


def _same_tooth(body: Surface, contour: Surface) -> bool:
    low, high = contour.bounds_mm
    points = body.vertices_mm
    held = ((points > low - _SAME_PLACE_MM) & (points < high + _SAME_PLACE_MM)).all(axis=1)
    areas = body.vertex_areas_mm2[held]
    if areas.sum() < _SAME_AREA * contour.area_mm2:
        return False
    near = approach(contour, points[held]).distance_mm < _SAME_PLACE_MM
    shared = areas[near].sum()
    return bool(shared > _SAME_SHARE * areas.sum() and shared > _SAME_AREA * contour.area_mm2)


def _split_at_crown(body: Surface, contour: Surface, frame: Frame) -> list[Surface]:
    """A scan that runs past the crown on both sides becomes two, cut at the crown's middle."""
    x = frame.to_local(body.vertices_mm)[:, 0]
    own = frame.to_local(contour.vertices_mm)[:, 0]
    if x.min() > own.min() or x.max() < own.max():
        return [body]
    mesial = x[body.faces].mean(axis=1) > 0.5 * (own.min() + own.max())
    return [sub_surface(body, part)[0] for part in (mesial, ~mesial)]


def _side_of(body: Surface, contour: Surface, frame: Frame) -> str:
    """By the part of the body that is nearest to the crown's box."""
    low, high = contour.bounds_mm
    apart = np.linalg.norm(
        np.maximum(np.maximum(low - body.vertices_mm, body.vertices_mm - high), 0.0), axis=1
    )
    nearest = body.vertices_mm[apart <= apart.min() + 0.5]
    own = frame.to_local(contour.vertices_mm)[:, 0]
    middle = 0.5 * (own.min() + own.max())
    return "mesial" if float(frame.to_local(nearest)[:, 0].mean()) > middle else "distal"
