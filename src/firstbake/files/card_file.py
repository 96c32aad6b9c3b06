"""Files of a colour card and of the zones of a photograph."""

import hashlib
import json
import tomllib
from pathlib import Path
from typing import Annotated, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, FiniteFloat, ValidationError

from firstbake.colour import xyz_from_lab
from firstbake.errors import BadInput
from firstbake.files.case_schema import Colour
from firstbake.files.case_words import sentence_of
from firstbake.files.colour_file import read_colours
from firstbake.target import Card, Mark, Patch, target_lab

_Side = Annotated[FiniteFloat, Field(gt=0.5, le=200)]
_Place = tuple[FiniteFloat, FiniteFloat]
_Light = Annotated[FiniteFloat, Field(ge=0, le=130)]
_T = TypeVar("_T", bound=BaseModel)


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class MarkTable(_Table):
    """[[mark]]: one of the four corner marks."""

    number: Annotated[int, Field(ge=0, le=49)]
    centre_mm: _Place
    side_mm: _Side


class PatchTable(_Table):
    """[[patch]]: one patch, with its measured value or without."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    centre_mm: _Place
    side_mm: _Side
    lab: Colour | None = None
    xyz: tuple[_Light, _Light, _Light] | None = None


class CardTable(_Table):
    """A colour card: places in mm (x to the right, y down) and measured values for D65 and 2 degrees."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    marks: Literal["4x4_50", "5x5_50", "6x6_50"] = Field(default="4x4_50", description="ArUco dictionary")
    geometry: Literal["45/0", "d/8 specular included", "d/8 specular excluded"] | None = None
    values_file: Annotated[str, Field(min_length=1)] | None = Field(
        default=None, description="a colour file with one reading named like each patch"
    )
    mark: Annotated[list[MarkTable], Field(min_length=4, max_length=4)]
    patch: Annotated[list[PatchTable], Field(min_length=1)]


class ZoneTable(_Table):
    """[[zone]]: a polygon in pixels of the photograph as it is shown, x to the right, y down."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    points_px: Annotated[list[_Place], Field(min_length=3)]


class ZonesTable(_Table):
    """The zones to read from a photograph."""

    zone: Annotated[list[ZoneTable], Field(min_length=1)]


def _table(path: Path, model: type[_T]) -> tuple[_T, str]:
    try:
        data = path.read_bytes()
        written = tomllib.loads(data.decode("utf-8"))
        return model.model_validate_json(json.dumps(written, default=str), strict=True), hashlib.sha256(
            data
        ).hexdigest()
    except FileNotFoundError:
        raise BadInput(f"{path} does not exist; name a TOML file") from None
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({(error.strerror or '').lower()})") from error
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadInput(f"{path} is not valid TOML: {str(error).lower()}; mend that line") from None
    except ValidationError as error:
        raise BadInput(f"{path}: {sentence_of(error, model)}") from None


def read_card(path: Path) -> tuple[Card, str, str]:
    """A measured card, the name of its ArUco dictionary, and the sha256 of the file.

    raises : BadInput, also when a patch has no measured value or two
    """
    table, digest = _table(path, CardTable)
    measured = _measured(path, table)
    patches = tuple(
        Patch(p.name, p.centre_mm, p.side_mm, measured.get(p.name) or _xyz(p, path)) for p in table.patch
    )
    marks = tuple(Mark(m.number, m.centre_mm, m.side_mm) for m in table.mark)
    try:
        return Card(table.name, marks, patches, table.geometry), table.marks, digest
    except BadInput as error:
        raise BadInput(f"{path}: {error}") from None


def _measured(path: Path, table: CardTable) -> dict[str, tuple[float, float, float]]:
    if table.values_file is None:
        return {}
    both = [p.name for p in table.patch if p.lab is not None or p.xyz is not None]
    if both:
        raise BadInput(f'{path}: patch "{both[0]}" has a value here and one in values_file; leave one out')
    readings = read_colours(path.parent / table.values_file)
    for reading in readings:
        if table.geometry and reading.geometry and reading.geometry != table.geometry:
            raise BadInput(f"{reading.what} is {reading.geometry}, the card file says {table.geometry}")
    found: dict[str, tuple[float, float, float]] = {}
    for patch in table.patch:
        named = [r for r in readings if r.name == patch.name]
        if len(named) != 1:
            raise BadInput(
                f'{path}: {table.values_file} has {len(named)} readings named "{patch.name}", not one'
            )
        found[patch.name] = _three(xyz_from_lab(target_lab(named[0])))
    return found


def _xyz(patch: PatchTable, path: Path) -> tuple[float, float, float]:
    if patch.lab is not None and patch.xyz is None:
        return _three(xyz_from_lab(patch.lab))
    if patch.xyz is not None and patch.lab is None:
        return patch.xyz
    fault = (
        "both lab and xyz; leave one out"
        if patch.lab
        else "no measured value; a card must be measured before use"
    )
    raise BadInput(f'{path}: patch "{patch.name}" has {fault}')


def _three(values: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in values)
    return x, y, z


def read_zones(path: Path) -> dict[str, NDArray[np.float64]]:
    """Zone name -> (k, 2) polygon in pixels. raises : BadInput, also for two zones of one name"""
    table, _ = _table(path, ZonesTable)
    names = [zone.name for zone in table.zone]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise BadInput(f'{path}: zone "{twice[0]}" stands there twice; name each differently')
    return {zone.name: np.array(zone.points_px, dtype=np.float64) for zone in table.zone}
