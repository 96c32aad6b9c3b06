"""Tabs, tiles and readings: what was measured, and how."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstbake.colour import GEOMETRIES, grid_nm, outer_face
from firstbake.errors import BadInput

Floats = NDArray[np.float64]

#: How a tab lay on its tile: a fluid of about the ceramic's refractive index between both, or only air.
CONTACTS = ("optical contact", "air gap")

#: Standard deviation of one reading, and of the instrument's white common to all readings, unit 1: 0.003
#: each, the figures of this project's noise study (assumed there, of the usual size for bench instruments;
#: from memory, unverified).
READING_SD = 0.003
CALIBRATION_SD = 0.003
#: Standard deviation of a tab's thickness, mm: a micrometer on a ground disc (same noise study); half of it
#: for the roles that are measured as very thin tabs.
THICKNESS_SD_MM = 0.02
THIN_THICKNESS_SD_MM = 0.01
THIN_ROLES = ("opaque", "liner")

#: Tab thicknesses worth making, mm, thin and thick, by role: where the noise study of this project finds the
#: smallest doubt (dentine 0.5 to 1.0, enamel 1 to 2, transparent 2, opaque 0.1 to 0.2; simulated). Roles the
#: study has no figure for stand with their nearest relative (chosen here).
ADVISED_MM = {
    "liner": (0.10, 0.20),
    "opaque": (0.10, 0.20),
    "opaque-dentine": (0.40, 0.70),
    "dentine": (0.50, 1.00),
    "enamel": (1.00, 1.80),
    "transparent": (1.20, 2.20),
    "margin": (0.50, 1.00),
}
_THINNEST_MM, _THICKEST_MM = 0.02, 6.0


@dataclass(frozen=True, eq=False)
class Tab:
    """One fired and ground disc, read over a black and over a white tile.

    thickness_mm, thickness_sd_mm : mm, and its standard deviation
    over_black, over_white        : (31,) reflectance as read, unit 1, 400 to 700 nm at 10 nm
    contact                       : one of CONTACTS
    readings                      : how many readings stand behind each of the two spectra
    """

    thickness_mm: float
    thickness_sd_mm: float
    over_black: Floats
    over_white: Floats
    contact: str
    readings: tuple[int, int] = (1, 1)

    def __post_init__(self) -> None:
        if not _THINNEST_MM <= self.thickness_mm <= _THICKEST_MM:
            raise BadInput(
                f"a tab of {self.thickness_mm:g} mm was given; tabs are {_THINNEST_MM:g} to "
                f"{_THICKEST_MM:g} mm thick, check the number and its unit"
            )
        if not 0.0 < self.thickness_sd_mm < self.thickness_mm:
            raise BadInput(
                f"the doubt of a tab's thickness is {self.thickness_sd_mm:g} mm; it must be more than 0 and "
                f"less than the thickness, {self.thickness_mm:g} mm"
            )
        if self.contact not in CONTACTS:
            raise BadInput(f'contact "{self.contact}" is not one of: {"; ".join(CONTACTS)}')
        _check(self.over_black, f"the {self.thickness_mm:g} mm tab over black")
        _check(self.over_white, f"the {self.thickness_mm:g} mm tab over white")


@dataclass(frozen=True, eq=False)
class TabSet:
    """One or more tabs of one powder, with the tiles under them, all read with one instrument.

    black_tile, white_tile : (31,) reflectance of the bare tiles as read, unit 1
    tile_readings          : how many readings stand behind each tile
    geometry               : of every reading, one of colour.GEOMETRIES
    index, tile_index      : refractive index of the fired ceramic, and of the tiles' glaze
    reading_sd, calibration_sd : standard deviations, unit 1: of one reading, and of the scale of all of them
    role                   : of the powder, for advice on thickness
    """

    tabs: tuple[Tab, ...]
    black_tile: Floats
    white_tile: Floats
    geometry: str
    role: str
    index: float = 1.5
    tile_index: float = 1.5
    reading_sd: float = READING_SD
    calibration_sd: float = CALIBRATION_SD
    tile_readings: tuple[int, int] = (1, 1)

    def __post_init__(self) -> None:
        if not self.tabs:
            raise BadInput("no tab was given; measure at least one tab over a black and over a white tile")
        if self.geometry not in GEOMETRIES:
            raise BadInput(f'geometry "{self.geometry}" is not one of: {"; ".join(GEOMETRIES)}')
        if self.role not in ADVISED_MM:
            raise BadInput(f'role "{self.role}" is not one of {", ".join(ADVISED_MM)}')
        if not (1.3 <= self.index <= 2.5 and 1.3 <= self.tile_index <= 2.5):
            raise BadInput(
                f"refractive indices {self.index:g} (ceramic) and {self.tile_index:g} (tile) were given; "
                "both lie between 1.3 and 2.5"
            )
        if not (0.0 < self.reading_sd <= 0.05 and 0.0 <= self.calibration_sd <= 0.05):
            raise BadInput(
                f"the doubt of a reading is {self.reading_sd:g}; it must be more than 0 and at most 0.05"
            )
        _check(self.black_tile, "the black tile")
        self._above_mirror()
        _check(self.white_tile, "the white tile")
        if self.white_tile.min() - self.black_tile.max() < 0.2:
            raise BadInput(
                f"the white tile reads {self.white_tile.min():.2f} and the black one up to "
                f"{self.black_tile.max():.2f}; they must lie at least 0.2 apart, check which is which"
            )

    def _above_mirror(self) -> None:
        """With the mirror reflection read along, nothing glazed or glassy reads less than it."""
        mirror = outer_face(self.tile_index, self.geometry).mirror
        least = min(float(r.min()) for r in (self.black_tile, *(tab.over_black for tab in self.tabs)))
        if least < mirror - 4 * self.reading_sd:
            raise BadInput(
                f"a reading of {least:.3f} lies under the {mirror:.3f} that any glazed face mirrors with "
                "specular included; check the geometry and the calibration"
            )

    @property
    def contact_in_words(self) -> str:
        """The contact of the tabs, named once when it is the same for all."""
        found = list(dict.fromkeys(tab.contact for tab in self.tabs))
        return " and ".join(found)


def _check(reflectance: Floats, what: str) -> None:
    if reflectance.shape != grid_nm().shape or not np.isfinite(reflectance).all():
        raise BadInput(f"{what} needs 31 finite reflectances, 400 to 700 nm at 10 nm")
    if reflectance.min() < 0.0 or reflectance.max() > 1.1:
        raise BadInput(
            f"{what} reads {reflectance.min():.3f} to {reflectance.max():.3f}; reflectance lies between 0 "
            "and 1, check whether it is in percent"
        )
