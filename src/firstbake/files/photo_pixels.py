"""Photographs to linear light, and the corner marks in them."""

import hashlib
import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadInput
from firstbake.target import CLIPPED, Picture

if TYPE_CHECKING:
    import cv2

_MOST_PIXELS = 120_000_000


def read_photo(path: Path) -> tuple[Picture, str]:
    """A photograph as linear light, turned the way it is shown, and the sha256 of its bytes.

    kinds  : JPEG and PNG with 8 bits, whose sRGB curve is assumed; raw files by rawpy (LibRaw), whose values
             are linear, when the extra "raw" is installed. Nothing of the EXIF data is kept but the turn.
    raises : BadInput for other kinds, grey or CMYK pictures, damaged files, more than 120 megapixels
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise BadInput(f"{path} does not exist; name a photograph") from None
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({(error.strerror or '').lower()})") from error
    coded = data.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"))
    return (_coded(data, path) if coded else _raw(data, path)), hashlib.sha256(data).hexdigest()


def _coded(data: bytes, path: Path) -> Picture:
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG")) as opened:
            if opened.width * opened.height > _MOST_PIXELS:
                raise BadInput(
                    f"{path} has more than {_MOST_PIXELS // 1_000_000} megapixels; make it smaller"
                )
            if opened.mode not in ("RGB", "RGBA"):
                raise BadInput(
                    f"{path} is a picture of kind {opened.mode}; a colour photograph (RGB) is needed"
                )
            kind, profile = opened.format, opened.info.get("icc_profile") or b""
            pixels = np.asarray(ImageOps.exif_transpose(opened).convert("RGB"))
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise BadInput(f"{path} is damaged and cannot be read as a photograph") from error
    notes = [
        f"{kind} with 8 bits: the camera's tone curve is hidden, the sRGB curve is assumed; raw is better"
    ]
    if profile and b"sRGB" not in profile and "sRGB".encode("utf-16-be") not in profile:
        notes.append("its colour profile is not sRGB; the sRGB curve is assumed all the same")
    share = np.arange(256) / 255.0
    curve = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4).astype(np.float32)
    linear = curve[pixels]
    return Picture(linear, _clipped(linear), False, tuple(notes))


def _raw(data: bytes, path: Path) -> Picture:
    try:
        import rawpy
    except ImportError:
        raise BadInput(
            f"{path} is neither JPEG nor PNG; raw photographs need the extra raw (pip install firstbake[raw])"
        ) from None
    try:
        with rawpy.imread(io.BytesIO(data)) as opened:
            pixels = opened.postprocess(
                gamma=(1, 1),
                no_auto_bright=True,
                adjust_maximum_thr=0.0,
                output_bps=16,
                user_wb=[1.0, 1.0, 1.0, 1.0],
                output_color=rawpy.ColorSpace.raw,
            )
    except (rawpy.LibRawError, ValueError, MemoryError) as error:
        raise BadInput(f"{path} cannot be read as a photograph (JPEG, PNG or raw)") from error
    if pixels.ndim != 3 or pixels.shape[2] != 3:
        raise BadInput(f"{path} is a raw file without three colours")
    linear = (pixels / np.float32(65535.0)).astype(np.float32)
    return Picture(linear, _clipped(linear), True, ())


def _clipped(linear: NDArray[np.float32]) -> NDArray[np.bool_]:
    return np.asarray((linear >= CLIPPED).any(axis=2))


def shown(picture: Picture) -> NDArray[np.uint8]:
    """(h, w, 3) the picture for the eye and for finding marks: lightest part to white, square root curve."""
    top = max(float(np.quantile(picture.linear[::4, ::4], 0.995)), 1e-6)
    return np.asarray(255.0 * np.sqrt(np.clip(picture.linear / top, 0.0, 1.0)), dtype=np.uint8)


def _dictionary(name: str) -> "cv2.aruco.Dictionary":
    import cv2

    return cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, f"DICT_{name.upper()}"))


def find_marks(picture: Picture, dictionary: str) -> dict[int, NDArray[np.float64]]:
    """ArUco number -> (4, 2) corners in pixels, clockwise from the pattern's upper left.

    dictionary : "4x4_50", ...     raises : BadInput when a number is seen twice
    """
    import cv2

    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    finder = cv2.aruco.ArucoDetector(_dictionary(dictionary), settings)
    corners, numbers, _ = finder.detectMarkers(cv2.cvtColor(shown(picture), cv2.COLOR_RGB2GRAY))
    found: dict[int, NDArray[np.float64]] = {}
    for number, corner in zip([] if numbers is None else numbers.ravel(), corners, strict=True):
        if int(number) in found:
            raise BadInput(f"corner mark {number} is in the photograph twice; show one card only")
        found[int(number)] = np.asarray(corner, dtype=np.float64).reshape(4, 2)
    return found


def mark_cells(number: int, dictionary: str) -> list[list[bool]]:
    """Rows of cells of an ArUco pattern with its border, True where black; drawn by OpenCV."""
    import cv2

    side = int(dictionary[0]) + 2
    drawn = cv2.aruco.generateImageMarker(_dictionary(dictionary), number, side)
    return [[bool(cell < 128) for cell in row] for row in drawn]
