"""What a photograph gave, on disk: numbers, zones as a colour file, and a picture of what was found."""

import csv
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field

from firstbake.colour import name_of
from firstbake.files.card_file import read_card, read_zones
from firstbake.files.output import check_output, staged_folder
from firstbake.files.photo_pixels import find_marks, read_photo, shown
from firstbake.target import Card, PhotoColours, Picture, colours_of_photo, on_image, patch_corners_mm

_PREVIEW_PX = 1600


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class ZoneOut(_Part):
    """One zone."""

    name: str
    lab: tuple[float, float, float] = Field(description="median, CIELAB, D65, 2°")
    spread_lab: tuple[float, float, float] = Field(
        description="half the span from 16 % to 84 % of the pixels"
    )
    doubt_delta_e00: float
    left_out: float = Field(description="share of its pixels that were clipped or glaring")
    words: str


class PhotoFile(_Part):
    """The result of firstbake colour photo. Holds nothing of the photograph's EXIF data, nor its name."""

    card: str
    geometry: str | None = Field(description="how the card's patches were measured")
    error_delta_e00: float = Field(description="root mean square, each patch predicted from the others")
    patches: dict[str, float] = Field(description="patch -> its leave-one-out ΔE00")
    left_out: dict[str, str] = Field(description="patch -> why it was not used")
    raw: bool
    dried_minutes: float | None
    zones: list[ZoneOut]
    notes: list[str]
    inputs: dict[str, str] = Field(description="photograph and card -> sha256")


@dataclass(frozen=True, eq=False)
class ReadPhoto:
    """A photograph worked out. document : for --json and colour-photo.json"""

    picture: Picture
    card: Card
    zones: dict[str, NDArray[np.float64]]
    colours: PhotoColours
    document: PhotoFile


def read_colour_photo(
    photo: Path, card_file: Path, *, zones_file: Path | None, dried_minutes: float | None
) -> ReadPhoto:
    """Colours of zones from a photograph with a card. raises : BadInput with what is wrong and what to do"""
    card, dictionary, card_digest = read_card(card_file)
    zones = {} if zones_file is None else read_zones(zones_file)
    picture, digest = read_photo(photo)
    colours = colours_of_photo(
        picture, card, find_marks(picture, dictionary), zones=zones, dried_minutes=dried_minutes
    )
    document = PhotoFile(
        card=card.name,
        geometry=card.geometry,
        error_delta_e00=colours.camera.error_delta_e00,
        patches=dict(colours.patches),
        left_out=dict(colours.left_out),
        raw=picture.raw,
        dried_minutes=dried_minutes,
        zones=[
            ZoneOut(
                name=z.name,
                lab=z.lab,
                spread_lab=z.spread_lab,
                doubt_delta_e00=z.doubt_delta_e00,
                left_out=z.left_out,
                words=name_of(z.lab),
            )
            for z in colours.zones
        ],
        notes=list(colours.notes),
        inputs={"photograph": digest, "card": card_digest},
    )
    return ReadPhoto(picture, card, zones, colours, document)


def write_colour_photo(read: ReadPhoto, target: Path) -> tuple[Path, ...]:
    """Write colour-photo.json, zones.csv (when there are zones) and found.png. raises : BadOutput"""
    check_output(target)
    files = {
        "colour-photo.json": (read.document.model_dump_json(indent=2) + "\n").encode(),
        "found.png": _found_png(read),
    }
    if read.colours.zones:
        files["zones.csv"] = _zones_csv(read).encode()
    with staged_folder(target) as stage:
        for name, data in files.items():
            (stage / name).write_bytes(data)
    return tuple(target / name for name in sorted(files))


def _zones_csv(read: ReadPhoto) -> str:
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    if read.card.geometry:
        rows.writerow(["geometry", read.card.geometry])
    rows.writerows(
        [["illuminant", "D65"], ["observer", "2"], ["instrument", "photograph with a measured card"]]
    )
    rows.writerow(["name", "L*", "a*", "b*", "doubt_delta_e00"])
    for zone in read.colours.zones:
        rows.writerow([zone.name, *(f"{v:.3f}" for v in (*zone.lab, zone.doubt_delta_e00))])
    return text.getvalue()


def _found_png(read: ReadPhoto) -> bytes:
    """Card and zones cut out of the photograph with what was found drawn on it; pixels only, no metadata."""
    from PIL import Image, ImageDraw

    patches = [on_image(read.colours.transform, patch_corners_mm(p, 0.6)) for p in read.card.patches]
    marks = [on_image(read.colours.transform, mark.corners_mm()) for mark in read.card.marks]
    polygons = [*patches, *marks, *read.zones.values()]
    every = np.vstack(polygons)
    height, width = read.picture.clipped.shape
    low = np.clip(np.floor(every.min(axis=0) - 20), 0, (width - 1, height - 1)).astype(int)
    high = np.clip(np.ceil(every.max(axis=0) + 20), low + 1, (width, height)).astype(int)
    image = Image.fromarray(shown(read.picture)[low[1] : high[1], low[0] : high[0]])
    shrink = min(1.0, _PREVIEW_PX / max(image.size))
    image = image.resize((max(1, round(image.width * shrink)), max(1, round(image.height * shrink))))
    pen = ImageDraw.Draw(image)
    for polygon in polygons:
        points = [(float(x), float(y)) for x, y in (polygon - low) * shrink]
        pen.line([*points, points[0]], fill=(0, 0, 0), width=3)
        pen.line([*points, points[0]], fill=(255, 255, 255), width=1)
    data = io.BytesIO()
    image.save(data, format="PNG")
    return data.getvalue()
