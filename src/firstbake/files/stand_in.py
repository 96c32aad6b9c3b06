"""Writing a core stand-in made from a contour file."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from firstbake.errors import BadInput, BadOutput
from firstbake.files.meshes import read_surface, write_stl
from firstbake.mesh import nearest
from firstbake.teeth import Tooth, core_stand_in


@dataclass(frozen=True)
class MadeCore:
    """What was made.

    room_mm3 : about how much porcelain goes over it: its area times the mean distance to the contour
    repairs  : what was mended in the contour's file
    """

    out: Path
    triangles: int
    area_mm2: float
    room_mm3: float
    unit: str
    repairs: tuple[str, ...]

    def document(self) -> dict[str, object]:
        """As JSON."""
        return {
            "core": str(self.out),
            "triangles": self.triangles,
            "area_mm2": self.area_mm2,
            "room_mm3": self.room_mm3,
            "unit_read": self.unit,
            "repairs": list(self.repairs),
        }


def write_stand_in(
    contour: Path,
    *,
    tooth: str,
    out: Path,
    neighbours: tuple[Path, ...] = (),
    height_mm: float | None = None,
    unit: str | None = None,
) -> MadeCore:
    """Read the contour, make the stand-in, write it as STL in mm. raises : BadInput, BadMesh, BadOutput"""
    if height_mm is not None and not 4.0 <= height_mm <= 16.0:
        raise BadInput(f"--height-mm is {height_mm:g}; a crown is 4 to 16 mm high")
    if out.suffix.lower() != ".stl":
        raise BadOutput(f"{out} should end in .stl; the stand-in is written as STL in mm")
    read = read_surface(contour, unit=unit, role="contour")
    beside = tuple(read_surface(path, unit=unit, role="neighbour").surface for path in neighbours)
    core = core_stand_in(read.surface, tooth=Tooth(tooth), crown_height_mm=height_mm, neighbours=beside)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        write_stl(out, core)
    except OSError as error:
        raise BadOutput(f"{out} cannot be written ({(error.strerror or '').lower()})") from error
    away = nearest(read.surface, core.vertices_mm).distance_mm
    room = float(np.sum(away * core.vertex_areas_mm2))
    repairs = tuple(repair.sentence for repair in read.repairs)
    return MadeCore(out, len(core.faces), core.area_mm2, room, read.unit, repairs)
