"""Surface: checked, read-only triangles."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh

if TYPE_CHECKING:
    from firstbake.mesh.probe import Probe

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]


def _frozen(array: NDArray[np.generic]) -> None:
    array.flags.writeable = False


@dataclass(frozen=True, eq=False)
class Surface:
    """Triangles in space, anticlockwise seen from outside; vertex order is kept for life.

    vertices_mm : (n, 3) float64, mm
    faces       : (m, 3) int32, rows of vertices_mm
    raises      : BadMesh when an array has the wrong shape, names a missing vertex or is not finite
    """

    vertices_mm: Floats
    faces: Ints

    def __post_init__(self) -> None:
        vertices = np.array(self.vertices_mm, dtype=np.float64, order="C")
        faces = np.array(self.faces, dtype=np.int32, order="C")
        if vertices.ndim != 2 or vertices.shape[1] != 3:
            raise BadMesh(f"a surface needs vertices of shape (n, 3), got {vertices.shape}")
        if faces.ndim != 2 or faces.shape[1] != 3 or len(faces) == 0:
            raise BadMesh(f"a surface needs at least one triangle of shape (m, 3), got {faces.shape}")
        if not np.isfinite(vertices).all():
            raise BadMesh("a surface has coordinates that are not numbers (NaN or infinite)")
        if faces.min() < 0 or faces.max() >= len(vertices):
            raise BadMesh(
                f"a face names vertex {int(faces.max())}, but the surface has {len(vertices)} vertices"
            )
        _frozen(vertices)
        _frozen(faces)
        object.__setattr__(self, "vertices_mm", vertices)
        object.__setattr__(self, "faces", faces)

    def __getstate__(self) -> dict[str, object]:
        """What is pickled: the arrays only; what was worked out from them is worked out anew."""
        return {"vertices_mm": self.vertices_mm, "faces": self.faces}

    @cached_property
    def probe(self) -> "Probe":
        """The surface made ready for many questions; its search tree is built once."""
        from firstbake.mesh.probe import Probe

        return Probe(self)

    @cached_property
    def face_crosses_mm2(self) -> Floats:
        """(m, 3) twice-area normals of the faces, mm²."""
        a, b, c = (self.vertices_mm[self.faces[:, k]] for k in range(3))
        crosses: Floats = np.cross(b - a, c - a)
        _frozen(crosses)
        return crosses

    @cached_property
    def face_areas_mm2(self) -> Floats:
        """(m,) areas of the faces, mm²."""
        areas: Floats = 0.5 * np.linalg.norm(self.face_crosses_mm2, axis=1)
        _frozen(areas)
        return areas

    @cached_property
    def face_normals(self) -> Floats:
        """(m, 3) unit normals of the faces (zero where a face has no area)."""
        length = np.linalg.norm(self.face_crosses_mm2, axis=1, keepdims=True)
        normals: Floats = np.divide(
            self.face_crosses_mm2, length, out=np.zeros_like(self.face_crosses_mm2), where=length > 0
        )
        _frozen(normals)
        return normals

    @cached_property
    def vertex_normals(self) -> Floats:
        """(n, 3) area-weighted unit normals of the vertices (zero where a vertex has no face)."""
        total = np.zeros_like(self.vertices_mm)
        for k in range(3):
            np.add.at(total, self.faces[:, k], self.face_crosses_mm2)
        length = np.linalg.norm(total, axis=1, keepdims=True)
        normals: Floats = np.divide(total, length, out=np.zeros_like(total), where=length > 0)
        _frozen(normals)
        return normals

    @cached_property
    def vertex_areas_mm2(self) -> Floats:
        """(n,) a third of the area of the faces round each vertex, mm²."""
        total = np.zeros(len(self.vertices_mm))
        for k in range(3):
            np.add.at(total, self.faces[:, k], self.face_areas_mm2 / 3)
        _frozen(total)
        return total

    @property
    def area_mm2(self) -> float:
        """Total area, mm²."""
        return float(self.face_areas_mm2.sum())

    @cached_property
    def volume_mm3(self) -> float:
        """Signed volume by the divergence theorem about the mean vertex, mm³ (exact when closed)."""
        shifted = self.vertices_mm - self.vertices_mm.mean(axis=0)
        a, b, c = (shifted[self.faces[:, k]] for k in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)

    @cached_property
    def loops(self) -> tuple[Ints, ...]:
        """Boundary loops as rows of vertex numbers, longest (by length in mm) first; empty when closed."""
        from firstbake.mesh.loops import boundary_loops

        return boundary_loops(self)

    @property
    def is_closed(self) -> bool:
        """True when no edge is free."""
        return len(self.loops) == 0

    @property
    def bounds_mm(self) -> Floats:
        """(2, 3) least and greatest corner, mm."""
        return np.vstack([self.vertices_mm.min(axis=0), self.vertices_mm.max(axis=0)])

    def moved(self, vertices_mm: Floats) -> "Surface":
        """The same faces over other vertices of the same order. vertices_mm : (n, 3) mm."""
        if len(vertices_mm) != len(self.vertices_mm):
            raise BadMesh(f"moved() needs {len(self.vertices_mm)} vertices, got {len(vertices_mm)}")
        return Surface(vertices_mm, self.faces)
