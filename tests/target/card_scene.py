"""A card and tooth-coloured fields drawn from nothing: oblique, noisy, through a known linear camera."""

import cv2
import numpy as np

from firstbake.colour import xyz_from_lab
from firstbake.target import PRINTED_PATCH_MM, Card, Patch, printed_marks, printed_patches

# XYZ (Y of white 1) to camera values: an invented sensor whose channels overlap.
CAMERA = np.array([[0.62, 0.31, -0.05], [-0.28, 1.05, 0.16], [0.03, -0.09, 0.78]])
# Card mm to pixels: turned, oblique, about 12 pixels a mm.
VIEW = np.array([[11.5, 1.6, 90.0], [-1.1, 11.9, 190.0], [4.0e-4, -7.0e-4, 1.0]])
SIZE = (1060, 1280)
TEETH = {
    "cervical": (70.0, 4.0, 23.0),
    "body": (74.5, 1.8, 17.5),
    "incisal": (71.0, -0.4, 8.5),
    "stump": (62.0, 5.0, 21.0),
}
FIELDS = {name: (12.0 + 20.0 * k, 62.0) for k, name in enumerate(TEETH)}
FIELD_MM = 11.0


def card(labs=None) -> Card:
    """The printed card as if each patch had been measured to be its nominal colour, or another."""
    patches = tuple(
        Patch(name, place, PRINTED_PATCH_MM, tuple(xyz_from_lab((labs or {}).get(name, lab))))
        for name, lab, place in printed_patches()
    )
    return Card("test", printed_marks(), patches, "45/0")


def card_toml(*, spoil=lambda text: text) -> str:
    """The same as a card file."""
    lines = ['name = "test"', 'geometry = "45/0"']
    for mark in printed_marks():
        x, y = mark.centre_mm
        lines += ["[[mark]]", f"number = {mark.number}", f"centre_mm = [{x}, {y}]", "side_mm = 8.0"]
    for name, lab, (x, y) in printed_patches():
        lines += [
            "[[patch]]",
            f'name = "{name}"',
            f"centre_mm = [{x}, {y}]",
            "side_mm = 8.0",
            f"lab = {list(lab)}",
        ]
    return spoil("\n".join(lines) + "\n")


def to_px(points_mm) -> np.ndarray:
    moved = np.hstack([np.asarray(points_mm, dtype=float), np.ones((len(points_mm), 1))]) @ VIEW.T
    return moved[:, :2] / moved[:, 2:]


def square(centre, side, share=1.0) -> np.ndarray:
    half = 0.5 * share * side
    return np.array(centre) + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])


def zones(share=0.7) -> dict[str, np.ndarray]:
    return {name: to_px(square(place, FIELD_MM, share)) for name, place in FIELDS.items()}


def zones_toml() -> str:
    return "".join(
        f'[[zone]]\nname = "{name}"\npoints_px = {np.round(points, 2).tolist()}\n'
        for name, points in zones().items()
    )


def flat_xyz(without_mark=None, px_per_mm=24) -> np.ndarray:
    """The card and the fields from straight above, XYZ with Y of white 1."""
    picture = np.ones((75 * px_per_mm, 95 * px_per_mm, 3)) * xyz_from_lab((35.0, 6.0, 6.0))

    def fill(centre, side, lab):
        (x0, y0), _, (x1, y1), _ = np.round(square(centre, side) * px_per_mm).astype(int)
        picture[y0:y1, x0:x1] = xyz_from_lab(lab)

    picture[: 50 * px_per_mm, : 90 * px_per_mm] = xyz_from_lab((92.0, 0.0, 2.0))
    for mark in printed_marks():
        if mark.number == without_mark:
            continue
        dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
        side = round(mark.side_mm * px_per_mm)
        drawn = cv2.aruco.generateImageMarker(dictionary, mark.number, side)
        x, y = (round((c - mark.side_mm / 2) * px_per_mm) for c in mark.centre_mm)
        ink = np.where(drawn[..., None] < 128, xyz_from_lab((18.0, 0.0, 0.0)), xyz_from_lab((92.0, 0.0, 2.0)))
        picture[y : y + side, x : x + side] = ink
    for _, lab, place in printed_patches():
        fill(place, PRINTED_PATCH_MM, lab)
    for name, place in FIELDS.items():
        fill(place, FIELD_MM, TEETH[name])
    return picture / 100.0


def photograph(*, exposure=0.75, noise=0.004, seed=1, without_mark=None, glare=()) -> np.ndarray:
    """(h, w, 3) float linear light, full scale 1. glare : card places in mm that mirror the lamp."""
    px = 24
    flat = flat_xyz(without_mark, px)
    shrink = np.diag([1 / px, 1 / px, 1.0])
    shift = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    warp = VIEW @ shrink @ shift
    seen = cv2.warpPerspective(
        flat.astype(np.float32),
        warp,
        (SIZE[1], SIZE[0]),
        flags=cv2.INTER_AREA,
        borderMode=cv2.BORDER_REPLICATE,
    )
    rgb = exposure * seen.astype(float) @ CAMERA.T
    y, x = np.mgrid[: SIZE[0], : SIZE[1]]
    for place in glare:
        ((gx, gy),) = to_px([place])
        rgb += 1.5 * np.exp(-((x - gx) ** 2 + (y - gy) ** 2) / (2 * 9.0**2))[..., None]
    rng = np.random.default_rng(seed)
    rgb = rgb + noise * np.sqrt(np.maximum(rgb, 0.0)) * rng.standard_normal(rgb.shape)
    return np.clip(rgb, 0.0, 1.0)


# XYZ (Y of white 1) to linear sRGB (IEC 61966-2-1).
SRGB = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])


def coded(linear) -> np.ndarray:
    """(h, w, 3) uint8 as the camera writes it: its own values to sRGB, not quite rightly, then the curve."""
    off = np.array([[1.03, -0.02, 0.01], [0.02, 0.97, 0.0], [-0.01, 0.03, 0.95]])
    linear = np.clip(linear @ (off @ SRGB @ np.linalg.inv(CAMERA)).T, 0.0, 1.0)
    curved = np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )
    return np.round(255 * np.clip(curved, 0, 1)).astype(np.uint8)
