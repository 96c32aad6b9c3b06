"""Writing STL, PLY and 3MF: the same surface gives the same bytes, and a file is whole or not there."""

import io
import os
import tempfile
import zipfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadOutput
from firstbake.mesh import Floats, Surface

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_PARTS = {
    "[Content_Types].xml": '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n",
    "_rels/.rels": '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n',
}


def write_stl(
    path: Path | str, surface: Surface, *, fields: Mapping[str, NDArray[np.generic]] | None = None
) -> None:
    """Write a binary STL in mm.

    Coordinates are float32: rounded by up to 1 nm at 20 mm and 4 nm at 100 mm from the origin. STL has no
    place for values at vertices.

    raises : BadOutput when fields are given, or the file cannot be written
    """
    if fields:
        raise BadOutput(f"{Path(path).name}: STL has no place for maps at vertices; write them as PLY")
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    rows = np.zeros(len(surface.faces), dtype=kind)
    rows["normal"] = surface.face_normals
    rows["corners"] = surface.vertices_mm[surface.faces]
    head = b"firstbake surface, mm".ljust(80) + len(rows).to_bytes(4, "little")
    _write_whole(Path(path), head + rows.tobytes())


def write_ply(
    path: Path | str, surface: Surface, *, fields: Mapping[str, NDArray[np.generic]] | None = None
) -> None:
    """Write a binary PLY in mm: vertices in their order as float64 (exact), maps as float32 (7 digits).

    fields : name -> (n,) values at the vertices; NaN is kept
    raises : BadOutput when a field has another length or an unusable name, or the file cannot be written
    """
    kept = _checked_fields(Path(path), surface, fields or {})
    columns = [("x", "<f8"), ("y", "<f8"), ("z", "<f8"), *((name, "<f4") for name in kept)]
    points = np.zeros(len(surface.vertices_mm), dtype=np.dtype(columns))
    for k, axis in enumerate("xyz"):
        points[axis] = surface.vertices_mm[:, k]
    for name, values in kept.items():
        points[name] = values
    faces = np.zeros(len(surface.faces), dtype=np.dtype([("length", "u1"), ("corners", "<i4", 3)]))
    faces["length"], faces["corners"] = 3, surface.faces
    head = [
        "ply",
        "format binary_little_endian 1.0",
        "comment firstbake surface, lengths in mm",
        f"element vertex {len(points)}",
        *(f"property double {axis}" for axis in "xyz"),
        *(f"property float {name}" for name in kept),
        f"element face {len(faces)}",
        "property list uchar int vertex_indices",
        "end_header\n",
    ]
    _write_whole(Path(path), "\n".join(head).encode("ascii") + points.tobytes() + faces.tobytes())


def write_3mf(
    path: Path | str, surface: Surface, *, fields: Mapping[str, NDArray[np.generic]] | None = None
) -> None:
    """Write a 3MF package with the unit millimeter stated; coordinates are rounded to 1 nm.

    raises : BadOutput when fields are given (no place for them), or the file cannot be written
    """
    if fields:
        raise BadOutput(f"{Path(path).name}: 3MF has no place for maps at vertices; write them as PLY")
    corners = "".join(
        f'<vertex x="{x:.6f}" y="{y:.6f}" z="{z:.6f}"/>\n' for x, y, z in surface.vertices_mm.tolist()
    )
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>\n' for a, b, c in surface.faces.tolist())
    model = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}">'
        '\n<resources><object id="1" type="model"><mesh>\n'
        f"<vertices>\n{corners}</vertices>\n<triangles>\n{faces}"
        '</triangles>\n</mesh></object></resources>\n<build><item objectid="1"/></build>\n</model>\n'
    )
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as package:
        for name, text in {**_PARTS, "3D/3dmodel.model": model}.items():
            entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            entry.create_system, entry.compress_type = 0, zipfile.ZIP_DEFLATED
            package.writestr(entry, text.encode("utf-8"))
    _write_whole(Path(path), packed.getvalue())


def _checked_fields(
    path: Path, surface: Surface, fields: Mapping[str, NDArray[np.generic]]
) -> dict[str, Floats]:
    kept: dict[str, Floats] = {}
    for name, values in fields.items():
        column = np.asarray(values, dtype=np.float64)
        if column.shape != (len(surface.vertices_mm),):
            raise BadOutput(
                f"{path.name}: the map '{name}' has shape {column.shape}, but there are "
                f"{len(surface.vertices_mm)} vertices"
            )
        if name in ("x", "y", "z") or not (name.isascii() and name.replace("_", "a").isalnum()):
            raise BadOutput(f"{path.name}: '{name}' cannot name a map; use letters, digits and underscores")
        kept[name] = column
    return kept


def _write_whole(path: Path, data: bytes) -> None:
    """Write beside the target first, then rename: the target is never half written."""
    part: Path | None = None
    try:
        handle, found = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.absolute().parent)
        part = Path(found)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        part.chmod(0o644)
        part.replace(path)
    except OSError as reason:
        raise BadOutput(f"{path} cannot be written: {reason.strerror or reason}") from reason
    finally:
        if part is not None:
            part.unlink(missing_ok=True)
