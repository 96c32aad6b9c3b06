"""The colours of zones in a photograph that shows a measured card."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import delta_e00
from firstbake.errors import BadInput
from firstbake.target.camera import Camera, fit_camera
from firstbake.target.card import Card, Patch
from firstbake.target.pixels import area_of, homography, on_image
from firstbake.target.reading import Lab

Floats = NDArray[np.float64]

_INNER_SHARE = 0.6  # of a patch's side is looked at, so that its edges stay out
_MOST_LEFT_OUT = 0.5
_DARKEST_LIGHT_PATCH = 0.06  # of full scale, linear: below it noise and rounding rule (chosen here)
# A tooth 5 % nearer to or further from the light than the card is 1.7 off; half of that is usual (simulated).
_LIGHTING_DELTA_E00 = 0.9
# An 8-bit picture whose tone curve is not known: 1.1 to 1.2 with patches near in colour (simulated).
_CURVE_DELTA_E00 = 1.2
#: Beyond this many minutes under dry air a tooth looks whiter than it is (common practice: match at once).
DRY_MINUTES = 3.0


@dataclass(frozen=True, eq=False)
class Picture:
    """A photograph as numbers.

    linear : (h, w, 3) float32 linear light, full scale 1       clipped : (h, w) at the camera's limit
    raw    : True from a raw file, whose values are linear; else the tone curve is assumed
    notes  : what was assumed in reading it
    """

    linear: NDArray[np.float32]
    clipped: NDArray[np.bool_]
    raw: bool
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class PhotoZone:
    """One zone's colour.

    lab : median, CIELAB, D65, 2 degrees      spread_lab : half the span from 16 % to 84 % of its pixels
    doubt_delta_e00 : one standard deviation   left_out : share of its pixels that were clipped or glaring
    """

    name: str
    lab: Lab
    spread_lab: Lab
    doubt_delta_e00: float
    left_out: float


@dataclass(frozen=True, eq=False)
class PhotoColours:
    """All that a photograph gave.

    zones   : in the order asked                                 camera : the fit
    patches : (name, leave-one-out ΔE00) of the patches used      left_out : (patch, why)
    transform : (3, 3) card mm to pixels                         notes : sentences to tell
    """

    zones: tuple[PhotoZone, ...]
    camera: Camera
    patches: tuple[tuple[str, float], ...]
    left_out: tuple[tuple[str, str], ...]
    transform: Floats
    notes: tuple[str, ...]


def patch_corners_mm(patch: Patch, share: float = 1.0) -> Floats:
    """(4, 2) corners of a patch, or of its inner part."""
    half = 0.5 * share * patch.side_mm
    return np.array(patch.centre_mm) + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])


def colours_of_photo(
    picture: Picture,
    card: Card,
    corners_px: Mapping[int, Floats],
    *,
    zones: Mapping[str, Floats],
    dried_minutes: float | None = None,
) -> PhotoColours:
    """Colours of zones by the card beside them.

    corners_px : mark number -> (4, 2) corners as found    zones : name -> (k, 2) polygon in pixels
    dried_minutes : since the tooth was dried or isolated, or None when not known
    raises : BadInput for a mark not found, a card that lies otherwise, a photograph too dark, too few patches
             without glare, a fit above the limit, a zone outside
    """
    missing = [mark.number for mark in card.marks if mark.number not in corners_px]
    if missing:
        found = ", ".join(map(str, sorted(corners_px))) or "none"
        raise BadInput(
            f"corner mark {missing[0]} of the card was not found (found: {found}); show the whole card, "
            "sharp and without glare, or name the right card file"
        )
    places = np.vstack([mark.corners_mm() for mark in card.marks])
    transform = homography(places, np.vstack([corners_px[mark.number] for mark in card.marks]))
    used, rgb, left_out = _patches(picture, card, transform)
    _refuse_dark(card, used, rgb)
    names = tuple(patch.name for patch in used)
    camera = fit_camera(rgb, np.array([patch.xyz for patch in used]).reshape(-1, 3), names=names)
    doubt = float(
        np.sqrt(
            camera.error_delta_e00**2 + _LIGHTING_DELTA_E00**2 + (0 if picture.raw else _CURVE_DELTA_E00**2)
        )
    )
    made = tuple(_zone(picture, camera, name, polygon, doubt=doubt) for name, polygon in zones.items())
    patches = tuple(zip(names, map(float, camera.left_out_delta_e00), strict=True))
    return PhotoColours(made, camera, patches, tuple(left_out), transform, _notes(picture, dried_minutes))


def _patches(
    picture: Picture, card: Card, transform: Floats
) -> tuple[list[Patch], Floats, list[tuple[str, str]]]:
    used: list[Patch] = []
    rgb: list[Floats] = []
    left_out: list[tuple[str, str]] = []
    for patch in card.patches:
        polygon = on_image(transform, patch_corners_mm(patch, _INNER_SHARE))
        area = area_of(picture.linear, polygon, clipped=picture.clipped, what=f"patch {patch.name}")
        if area.clipped_share + area.glare_share > _MOST_LEFT_OUT or len(area.rgb) == 0:
            left_out.append((patch.name, f"{area.clipped_share:.0%} clipped, {area.glare_share:.0%} glare"))
            continue
        used.append(patch)
        rgb.append(area.median)
    return used, np.array(rgb).reshape(-1, 3), left_out


def _refuse_dark(card: Card, used: list[Patch], rgb: Floats) -> None:
    lightest = max(card.patches, key=lambda patch: patch.xyz[1])
    if lightest not in used:
        return
    value = float(rgb[used.index(lightest)].max())
    if value < _DARKEST_LIGHT_PATCH:
        raise BadInput(
            f"the photograph is too dark: the lightest patch reaches {value:.1%} of full scale; expose so "
            "that it comes to a half or more without clipping"
        )


def _zone(picture: Picture, camera: Camera, name: str, polygon: Floats, *, doubt: float) -> PhotoZone:
    area = area_of(picture.linear, polygon, clipped=picture.clipped, what=f'zone "{name}"')
    left_out = area.clipped_share + area.glare_share
    if left_out > _MOST_LEFT_OUT or len(area.rgb) == 0:
        raise BadInput(
            f'zone "{name}" is {area.clipped_share:.0%} clipped and {area.glare_share:.0%} glare; photograph '
            "again without reflections, crossed polarisers help"
        )
    lab = tuple(float(v) for v in camera.lab(area.median))
    pixels = camera.lab(area.rgb)
    low, high = np.quantile(pixels, [0.16, 0.84], axis=0)
    spread = tuple(float(v) for v in 0.5 * (high - low))
    of_median = float(np.median(delta_e00(pixels, np.array(lab)))) / np.sqrt(len(pixels))
    return PhotoZone(name, _three(lab), _three(spread), float(np.hypot(doubt, of_median)), left_out)


def _three(values: tuple[float, ...]) -> Lab:
    one, two, three = values
    return one, two, three


def _notes(picture: Picture, dried_minutes: float | None) -> tuple[str, ...]:
    told = list(picture.notes)
    told.append(
        "a photograph is good for maps of zones and for differences to a tab photographed beside the tooth; "
        "expect 1.5 to 3 ΔE00 as an absolute target"
    )
    if dried_minutes is None:
        told.append(
            "not said how long the tooth was dry; teeth look whiter when dry, so match before isolating"
        )
    elif dried_minutes > DRY_MINUTES:
        told.append(
            f"the tooth was dry for {dried_minutes:g} minutes and looks whiter than it is; let it take up "
            "water again and photograph anew"
        )
    return tuple(told)
