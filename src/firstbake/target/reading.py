"""Reading: one measured colour with all that was said about how it was measured."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import GEOMETRIES, delta_e00, lab_from_reflectance, on_grid
from firstbake.errors import BadInput

Floats = NDArray[np.float64]
Lab = tuple[float, float, float]

#: A spectrum with a value above this is written in percent: no surface without fluorescence sends back more
#: than all (chosen here; between 1.3 and 2 the file is refused as neither).
PERCENT_ABOVE = 2.0
LEAST_REFLECTANCE, MOST_REFLECTANCE = -0.02, 1.3
_SPIKE = 0.15  # chosen here: noise is below 0.01, the steepest pigment below 0.1 of curvature
_UNITS = ("fractions of 1", "percent")
_FAR_LAB_DELTA_E00 = 1.0


@dataclass(frozen=True, eq=False)
class Reading:
    """One colour as an instrument gave it: a spectrum, or CIELAB, or both.

    name          : of the sample, "" where the file gives none
    wavelength_nm : (k,) rising, nm, or None        reflectance : (k,) unit 1, or None; both read-only
    lab           : CIELAB as the file gives it, or None; for `illuminant` and `observer`
    illuminant    : "D65", "D50", ...; "" where not said       observer : "2" or "10" degrees, or ""
    geometry      : one of colour.GEOMETRIES, or None where not said
    backing       : what lay under the sample, in the file's words
    contact       : "optical contact", "air gap" or ""       thickness_mm : of the sample, or None
    aperture, instrument, date, averaging : in the file's words, "" where not said
    doubt_delta_e00 : one standard deviation of the colour where the file tells it (photographs do), else 0
    file, digest  : name of the file it came from and the sha256 of its bytes
    notes         : what was decided in reading it, a sentence each
    raises        : BadInput (or BadCard for the wavelengths) when it holds no usable colour
    """

    name: str
    wavelength_nm: Floats | None = None
    reflectance: Floats | None = None
    lab: Lab | None = None
    illuminant: str = ""
    observer: str = ""
    geometry: str | None = None
    backing: str = ""
    contact: str = ""
    thickness_mm: float | None = None
    aperture: str = ""
    instrument: str = ""
    date: str = ""
    averaging: str = ""
    file: str = ""
    digest: str = ""
    notes: tuple[str, ...] = ()
    doubt_delta_e00: float = 0.0

    def __post_init__(self) -> None:
        if self.geometry is not None and self.geometry not in GEOMETRIES:
            raise BadInput(f'{self.what}: geometry "{self.geometry}" is not one of {"; ".join(GEOMETRIES)}')
        if not (np.isfinite(self.doubt_delta_e00) and 0.0 <= self.doubt_delta_e00 <= 100.0):
            raise BadInput(
                f"{self.what}: a doubt of {self.doubt_delta_e00:g} is no colour difference; give 0 or "
                "more, in CIEDE2000"
            )
        if self.reflectance is None and self.lab is None:
            raise BadInput(f"{self.what} holds neither a spectrum nor L*, a*, b*")
        if (self.reflectance is None) != (self.wavelength_nm is None):
            raise BadInput(f"{self.what} needs wavelengths and reflectances together")
        if self.lab is not None:
            _check_lab(self.lab, self.what)
        if self.reflectance is not None and self.wavelength_nm is not None:
            nm, values = _frozen(self.wavelength_nm), _frozen(self.reflectance)
            on_grid(nm, values, what=self.what)
            _check_range(nm, values, self.what)
            _check_spikes(nm, values, self.what)
            object.__setattr__(self, "wavelength_nm", nm)
            object.__setattr__(self, "reflectance", values)

    @property
    def what(self) -> str:
        """The reading for an error sentence: its file and name."""
        named = f'"{self.name}"' if self.name else "the reading"
        return f"{self.file}, {named}" if self.file else named

    @property
    def is_spectrum(self) -> bool:
        """Whether there is a spectrum, so that metamerism and a change of geometry can be worked out."""
        return self.reflectance is not None

    def on_grid(self) -> Floats:
        """(31,) reflectance on 400 to 700 nm at 10 nm. raises : BadInput when there is no spectrum"""
        if self.reflectance is None or self.wavelength_nm is None:
            raise BadInput(f"{self.what} gives L*, a*, b* only; a spectrum is needed for this")
        return on_grid(self.wavelength_nm, self.reflectance, what=self.what)

    def noted(self, *notes: str) -> "Reading":
        """The reading with further notes."""
        return replace(self, notes=(*self.notes, *notes))


def _frozen(values: Floats) -> Floats:
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def _check_lab(lab: Lab, what: str) -> None:
    if len(lab) != 3 or not np.isfinite(lab).all():
        raise BadInput(f"{what}: L*, a*, b* should be three numbers")
    if not (0.0 <= lab[0] <= 110.0 and max(abs(lab[1]), abs(lab[2])) <= 150.0):
        shown = ", ".join(f"{v:g}" for v in lab)
        raise BadInput(f"{what}: L*, a*, b* = {shown} is no colour of a surface; check the three numbers")


def _check_range(nm: Floats, values: Floats, what: str) -> None:
    outside = (values < LEAST_REFLECTANCE) | (values > MOST_REFLECTANCE)
    if outside.any():
        k = int(np.flatnonzero(outside)[0])
        raise BadInput(
            f"{what}: a reflectance of {values[k]:g} at {nm[k]:g} nm is outside {LEAST_REFLECTANCE:g} to "
            f"{MOST_REFLECTANCE:g}; say whether the file is in percent or in fractions, or measure again"
        )


def _check_spikes(nm: Floats, values: Floats, what: str) -> None:
    """One value far from neighbours that agree is a slip in the file: no body's colour does that in 20 nm."""
    left, here, right = values[:-2], values[1:-1], values[2:]
    off = np.abs(here - 0.5 * (left + right))
    lone = (off > _SPIKE) & (np.abs(left - right) < 0.5 * off)
    if lone.any():
        k = int(np.flatnonzero(lone)[0]) + 1
        raise BadInput(
            f"{what}: the value at {nm[k]:g} nm jumps by {off[k - 1]:.2f} from both its neighbours; mend "
            "that value or measure again"
        )


def in_percent(
    spectra: Sequence[Sequence[float]], *, stated: str = "", what: str = "the file"
) -> tuple[bool, str]:
    """Whether reflectances are written in percent, and the sentence that says what was decided.

    spectra : all of one table, so that a dark one follows the light ones beside it
    stated  : "percent", "fraction" or "" where the file does not say
    raises  : BadInput when a value is too large for a fraction and most of its spectrum too small for
              percent, which a slip of the pen in one number looks like; and when percent is stated but all
              values are as small as fractions
    """
    most = max((float(np.max(s, initial=0.0)) for s in spectra), default=0.0)
    if stated == "percent" and 0.0 < most <= MOST_REFLECTANCE:
        raise BadInput(
            f"{what} says percent, but its largest reflectance is {most:g}, blacker than black glass; write "
            "the values in percent, or state the unit as fraction"
        )
    if stated:
        return stated == "percent", f"read as {_UNITS[stated == 'percent']} (as the file says)"
    lightest = max((np.array(s, dtype=np.float64) for s in spectra), key=lambda s: float(s.max(initial=0.0)))
    percent = float(lightest.max(initial=0.0)) > PERCENT_ABOVE
    if percent and float(np.median(lightest)) <= MOST_REFLECTANCE:
        raise BadInput(
            f"{what}: a value of {lightest.max():g} is outside of what a fraction can be, but most of that "
            "spectrum is too small for percent; mend that value, or state the unit as percent"
        )
    return percent, f"read as {_UNITS[percent]} (decided by the largest value, the file does not say)"


def target_lab(reading: Reading) -> Lab:
    """CIELAB, D65, 2 degrees, of a reading.

    raises : BadInput when it is given as CIELAB only, for another light or observer or without saying which
    """
    if reading.is_spectrum:
        lightness, a, b = (float(v) for v in lab_from_reflectance(reading.on_grid()))
        return lightness, a, b
    if reading.lab is None:
        raise BadInput(f"{reading.what} holds no colour")
    if (reading.illuminant, reading.observer) == ("D65", "2"):
        return reading.lab
    if not (reading.illuminant and reading.observer):
        raise BadInput(
            f"{reading.what} gives L*, a*, b* without saying for which light and observer; export a "
            "spectrum, or Lab for D65 and 2 degrees with both stated"
        )
    raise BadInput(
        f"{reading.what} gives L*, a*, b* for {reading.illuminant} and {reading.observer} degrees; D65 and 2 "
        "degrees are needed, and only a spectrum can be turned into them"
    )


def checked(reading: Reading) -> Reading:
    """The reading, with a note where its spectrum and its own L*, a*, b* do not agree."""
    if not (reading.is_spectrum and reading.lab is not None):
        return reading
    if (reading.illuminant, reading.observer) != ("D65", "2"):
        return reading
    far = float(delta_e00(target_lab(reading), reading.lab))
    if far <= _FAR_LAB_DELTA_E00:
        return reading
    return reading.noted(
        f"the L*, a*, b* in the file are {far:.1f} ΔE00 from those of its spectrum; the spectrum is used"
    )
