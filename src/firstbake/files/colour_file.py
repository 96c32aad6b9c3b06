"""Colour files of every kind this package reads, told apart by what they hold."""

import hashlib
from pathlib import Path

from firstbake.errors import BadInput
from firstbake.files.colour_cgats import cgats_readings
from firstbake.files.colour_csv import csv_readings
from firstbake.files.colour_cxf import cxf_readings
from firstbake.target import Reading

_LARGEST_BYTES = 50_000_000


def read_colours(path: Path) -> tuple[Reading, ...]:
    """Every spectrum and CIELAB colour of a CGATS.17 / ISO 28178, CxF3 / ISO 17972-1 or CSV file.

    raises : BadInput (or its child BadCard, for wavelengths) with one sentence: what is wrong, where
    """
    try:
        if path.is_dir():
            raise BadInput(f"{path} is a folder; name a file with spectra or L*, a*, b*")
        if path.stat().st_size > _LARGEST_BYTES:
            raise BadInput(f"{path} is larger than any colour file should be; it was not read")
        data = path.read_bytes()
    except FileNotFoundError:
        raise BadInput(f"{path} does not exist; name a file with spectra or L*, a*, b*") from None
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({(error.strerror or '').lower()})") from error
    return colours_of_bytes(data, file=path.name)


def colours_of_bytes(data: bytes, *, file: str) -> tuple[Reading, ...]:
    """The same from the bytes of a file; file : its name, for error sentences and the record."""
    digest = hashlib.sha256(data).hexdigest()
    if not data.strip():
        raise BadInput(f"{file} is empty")
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") or data[:4] in (
        b"\xff\xfe<\x00",
        b"\xfe\xff\x00<",
    ):
        return cxf_readings(data.lstrip(b" \t\r\n"), file=file, digest=digest)
    text, note = _decoded(data, file)
    reader = cgats_readings if _is_cgats(text) else csv_readings
    found = reader(text, file=file, digest=digest)
    return tuple(reading.noted(note) for reading in found) if note else found


def _is_cgats(text: str) -> bool:
    words = {line.split(maxsplit=1)[0].upper() for line in text.splitlines() if line.strip()}
    return "BEGIN_DATA" in words or "BEGIN_DATA_FORMAT" in words


def _decoded(data: bytes, file: str) -> tuple[str, str]:
    """The text, and a sentence when its encoding had to be guessed."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16"), ""
        except UnicodeDecodeError:
            raise BadInput(f"{file} is not text; export the colours as text") from None
    if b"\x00" in data:
        raise BadInput(f"{file} is not text; export the colours as CGATS, CxF3 or CSV")
    try:
        return data.decode("utf-8-sig"), ""
    except UnicodeDecodeError:
        return data.decode("latin-1"), "the file is not UTF-8; its letters were read as Latin-1"
