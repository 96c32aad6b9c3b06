"""Repairing what files bring: every repair is counted and said."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh
from firstbake.mesh.holes import close_small_holes, part_pinched
from firstbake.mesh.shells import Shell, shells_of, sort_out, turned_alike, without_fins
from firstbake.mesh.surface import Floats, Ints, Surface
from firstbake.mesh.weld import distinct, first_of_doubles, idle_slivers, used_vertices, weld


@dataclass(frozen=True)
class Repair:
    """One thing that was put right: a plain sentence that names the file, and how often."""

    sentence: str
    count: int


@dataclass(frozen=True)
class _Log:
    name: str
    entries: list[Repair] = field(default_factory=list)

    def say(self, count: int, one: str, many: str) -> None:
        """Note a repair unless count is 0; {} in many stands for the count."""
        if count:
            text = one if count == 1 else many.format(count)
            self.entries.append(Repair(f"{self.name}: {text}", int(count)))


def heal(
    vertices: Floats, faces: NDArray[np.integer], *, name: str, several: bool = False
) -> tuple[Surface, tuple[Repair, ...]]:
    """Put right what can be put right without guessing at the shape; the order of vertices is kept.

    In this order: weld (1e-6 of the extent), drop faces that name a vertex twice, doubled faces, idle
    slivers and fins, turn all faces of a shell alike, turn shells outwards, drop stray shells, close holes
    shorter than 6 mm (never the margin), part vertices where the surface only touches itself.

    vertices, faces : (n, 3) mm and (m, 3)
    name            : file name for the sentences
    several         : True when several bodies are meant (a row of teeth): all but specks are kept
    raises          : BadMesh when nothing is left, the surface has one side only, or one body is wanted and
                      two of similar size lie side by side
    """
    log = _Log(name)
    points, triangles = _joined(*_checked(vertices, faces, name), log)
    triangles, shell, turned = turned_alike(triangles, name=name)
    log.say(
        turned, "1 face was turned to match its neighbours", "{} faces were turned to match their neighbours"
    )
    kept, dropped = sort_out(shells_of(points, triangles, shell, name=name), several=several, name=name)
    for body in kept:
        if body.inside_out:
            triangles[body.faces] = triangles[body.faces][:, ::-1]
    log.say(
        sum(s.inside_out for s in kept),
        "1 body faced inwards and was turned outwards",
        "{} bodies faced inwards and were turned outwards",
    )
    _say_dropped(dropped, log)
    points, triangles = used_vertices(points, triangles[np.any([s.faces for s in kept], axis=0)])
    return _closed_up(points, triangles, log, several=several), tuple(log.entries)


def _checked(vertices: Floats, faces: NDArray[np.integer], name: str) -> tuple[Floats, Ints]:
    try:
        surface = Surface(np.asarray(vertices), np.asarray(faces))
    except BadMesh as reason:
        raise BadMesh(f"{name}: {reason}") from reason
    return surface.vertices_mm, surface.faces


def _joined(points: Floats, faces: Ints, log: _Log) -> tuple[Floats, Ints]:
    """Welded points and the faces that carry something."""
    points, faces, joined = weld(points, faces)
    log.say(
        joined,
        "1 vertex was joined to another in its place",
        "{} vertices were joined to others in their place",
    )
    keep = distinct(faces)
    log.say(int((~keep).sum()), "1 face without area was dropped", "{} faces without area were dropped")
    faces = faces[keep]
    if len(faces) == 0 or Surface(points, faces).area_mm2 == 0:
        raise BadMesh(f"{log.name}: no face has an area, so there is no surface; export it again")
    keep = first_of_doubles(faces)
    log.say(int((~keep).sum()), "1 doubled face was dropped", "{} doubled faces were dropped")
    faces = faces[keep]
    idle = idle_slivers(points, faces)
    log.say(int(idle.sum()), "1 sliver without area was dropped", "{} slivers without area were dropped")
    faces = faces[~idle]
    keep, _ = without_fins(faces, Surface(points, faces).face_areas_mm2)
    log.say(
        int((~keep).sum()),
        "1 face at an edge with three faces (a fin or an inner wall) was dropped",
        "{} faces at edges with three or more faces (fins or inner walls) were dropped",
    )
    count = len(points)
    points, faces = used_vertices(points, faces[keep])
    log.say(
        count - len(points),
        "1 vertex that no face needs was dropped",
        "{} vertices that no face needs were dropped",
    )
    return points, faces


def _say_dropped(dropped: list[Shell], log: _Log) -> None:
    for inside_out in (True, False):
        group = [s for s in dropped if s.inside_out is inside_out]
        count = sum(len(s.part.faces) for s in group)
        faces = "1 face" if count == 1 else f"{count} faces"
        kind = "inside-out shell" if inside_out else "stray shell"
        log.say(
            len(group),
            f"1 {kind} of {faces} was dropped",
            f"{{}} {kind}s of {faces} in all were dropped",
        )


def _closed_up(points: Floats, faces: Ints, log: _Log, *, several: bool) -> Surface:
    surface, closed, large = close_small_holes(Surface(points, faces), keep_margin=not several)
    log.say(closed, "1 small hole was closed", "{} small holes were closed")
    if not several:
        log.say(
            large,
            "1 hole of 6 mm or more beside the margin was left open",
            "{} holes of 6 mm or more beside the margin were left open",
        )
    points, faces, copies = part_pinched(surface.vertices_mm, surface.faces)
    log.say(
        copies,
        "1 vertex where the surface only touches itself was parted",
        "{} vertices where the surface only touches itself were parted",
    )
    return Surface(points, faces) if copies else surface
