"""3MF packages: opened and counted here, parsed by trimesh."""

import io
import zipfile
from functools import cache
from typing import Any
from xml.parsers import expat

import numpy as np

from firstbake.errors import BadMesh
from firstbake.files.meshes_raw import RawMesh, check_count, guarded

_UNITS = {"micron": "um", "millimeter": "mm", "centimeter": "cm", "inch": "inch", "meter": "m"}
_MOST_BYTES = 150_000_000  # unpacked, all parts; 2 million triangles take about 130 MB
_MOST_PARTS = 1000  # in the package; chosen here, as are the next two
_MOST_BODIES = 1000
_DEEPEST = 8  # objects made of objects


def read_3mf(data: bytes, *, name: str) -> RawMesh:
    """All built objects of a 3MF package, in place, with the unit it states.

    trimesh leaves out bodies that it cannot place without a word, so they are counted here before.

    raises : BadMesh when it is no 3MF package, is damaged or too large, or uses a unit that is not known
    """
    from trimesh.exchange.threemf import load_3MF

    with guarded(name, "3MF"):
        count = _count_bodies(_model(data, name), name)
        found = load_3MF(io.BytesIO(data), postprocess=False)  # type: ignore[no-untyped-call]
        if len(found["graph"]) != count:
            raise ValueError(f"it places {count} bodies, but {len(found['graph'])} can be read")
        unit = found["metadata"]["units"].removesuffix("s")  # "millimeters" when none is stated
        if unit not in _UNITS:
            raise BadMesh(f"{name}: the unit '{unit}' is not understood; export it in millimeter")
        return _placed(found, unit=_UNITS[unit], name=name)


def _model(data: bytes, name: str) -> bytes:
    """The text of the model, once the package is known to be no bomb."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        parts = package.infolist()
        total = sum(part.file_size for part in parts)
        if len(parts) > _MOST_PARTS or total > _MOST_BYTES:
            raise BadMesh(
                f"{name}: the 3MF package unpacks to {len(parts):,} parts with {total:,} bytes, "
                "too many to read"
            )
        models = [part for part in parts if "3d/3dmodel.model" in part.filename.lower()]
        if not models:
            raise BadMesh(
                f"{name}: this is a zip archive without a 3MF model; export it again as 3MF, STL or PLY"
            )
        return package.read(models[0])


def _count_bodies(model: bytes, name: str) -> int:
    """How many bodies the build places; nothing is kept but which object is made of which."""
    parts: dict[str, list[str]] = {}
    built: list[str] = []
    seen = dict.fromkeys(("object", "mesh", "vertex", "triangle"), 0)

    def start(tag: str, values: dict[str, str]) -> None:
        tag = tag.rpartition(" ")[2]
        if tag in seen:
            seen[tag] += 1
        match tag:
            case "object" if values["id"] in parts:
                raise ValueError(f"two objects have the number {values['id']}")
            case "object":
                parts[values["id"]] = []
            case "component":
                next(reversed(parts.values())).append(values["objectid"])
            case "item":
                built.append(values["objectid"])

    def refuse(*_: object) -> None:
        raise BadMesh(f"{name}: the 3MF model defines entities, which no mesh needs; export it again")

    reader = expat.ParserCreate(namespace_separator=" ")
    reader.StartElementHandler, reader.StartDoctypeDeclHandler = start, refuse
    reader.EntityDeclHandler = refuse
    reader.Parse(model, True)
    check_count(max(seen["triangle"], seen["vertex"] // 3), name=name)
    if seen["mesh"] != sum(not made_of for made_of in parts.values()):
        raise ValueError("an object is neither one mesh nor made of others")

    @cache
    def bodies(key: str, depth: int) -> int:
        if depth > _DEEPEST:
            raise ValueError("objects nest too deeply")
        return sum(bodies(part, depth + 1) for part in parts[key]) if parts[key] else 1

    count = sum(bodies(key, 0) for key in built)
    if count > _MOST_BODIES:
        raise ValueError(f"it places {count} bodies, more than {_MOST_BODIES}")
    return count


def _placed(found: dict[str, Any], *, unit: str, name: str) -> RawMesh:
    points, faces, count = [np.zeros((0, 3))], [np.zeros((0, 3), dtype=np.int64)], 0
    for place in found["graph"]:
        body, matrix = found["geometry"][place["geometry"]], place["matrix"]
        mirrored = np.linalg.det(matrix[:3, :3]) < 0
        points.append(body["vertices"] @ matrix[:3, :3].T + matrix[:3, 3])
        faces.append((body["faces"][:, ::-1] if mirrored else body["faces"]) + count)
        count += len(points[-1])
        check_count(max(sum(map(len, faces)), count // 3), name=name)
    return RawMesh(np.vstack(points), np.vstack(faces), unit=unit)
