"""The doubt of a predicted colour rests on what the tabs told, and covers what measuring again does."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from invented_powders import optics_of

from firstbake.colour import basis_of, delta_e00, identification_errors
from firstbake.colour.ground import Ground, stump_end
from firstbake.colour.optics_doubt import moved_optics
from firstbake.colour.paths import Paths, labs_at
from firstbake.powder import Optics
from firstbake.tabs import identify

sys.path.insert(0, str(Path(__file__).parents[1] / "tabs"))
from tab_readings import ONE_MM, TWO_MM, tabs_of
from tab_readings import optics_of as powder_of

GROUND = Ground(None, 0.0, stump_end((72.0, 4.0, 21.0), geometry="45/0"), "stump", None, False)
MM = {"opaque": 0.15, "dentine": 0.7, "enamel": 0.6}


def over_stump(optics: Optics, mm: float) -> Paths:
    return Paths((optics,), np.array([[mm]]), GROUND, "45/0")


@pytest.mark.parametrize(
    ("role", "sizes_mm"),
    [
        ("dentine", TWO_MM["dentine"]),
        ("dentine", (ONE_MM["dentine"],)),
        ("enamel", TWO_MM["enamel"]),
        ("opaque", TWO_MM["opaque"]),
    ],
)
def test_it_is_the_scatter_of_powders_measured_again_and_again(
    role: str, sizes_mm: tuple[float, ...]
) -> None:
    # outside check: readings by text-book formulas with noise, scale and thickness errors drawn anew each
    # time; the colours of the layer as identified scatter about that of the true powder
    true, rng = over_stump(powder_of(role), MM[role]), np.random.default_rng(5)
    off, told = [], []
    for _ in range(25):
        found = identify(tabs_of(role, sizes_mm, rng=rng)).optics(index=1.5, source="tabs")
        paths = over_stump(found, MM[role])
        off.append(float(delta_e00(labs_at(paths), labs_at(true))[0]))
        told.append(float(identification_errors(paths)[0]))
    ratio = np.sqrt(np.mean(np.square(told)) / np.mean(np.square(off)))
    assert 1.0 < ratio < 2.2


def test_the_deviations_on_the_card_drive_it_and_nothing_else_does() -> None:
    plain = optics_of("dentine 3", status="measured")
    k, s = np.array(plain.absorption_per_mm), np.array(plain.scattering_per_mm)

    def told(share: float, status: str = "measured") -> float:
        card = replace(plain, absorption_sd_per_mm=share * k, scattering_sd_per_mm=share * s, status=status)
        return float(identification_errors(over_stump(card, 0.7))[0])

    without = float(identification_errors(over_stump(plain, 0.7))[0])
    assert told(0.0) == 0.0
    assert told(0.02) == pytest.approx(0.5 * told(0.04), rel=0.05)
    # a stated 5 % on a card that isn't measured is the assumed one, both independent
    assert told(0.05, status="fitted") == pytest.approx(without, rel=0.02)
    assert told(0.03, status="fitted") == told(0.03, status="demo") > told(0.03)


def test_a_common_share_is_what_a_wrong_thickness_does() -> None:
    # K and S both 4 % high is the same layer 4 % thicker (two-flux sums know K d and S d alone)
    plain = optics_of("dentine 3", status="measured")
    card = replace(
        plain,
        absorption_sd_per_mm=0.04 * np.array(plain.absorption_per_mm),
        scattering_sd_per_mm=0.04 * np.array(plain.scattering_per_mm),
    )
    thicker = delta_e00(labs_at(over_stump(plain, 0.7 * 1.04)), labs_at(over_stump(plain, 0.7)))
    assert float(identification_errors(over_stump(card, 0.7))[0]) == pytest.approx(
        float(thicker[0]), rel=1e-3
    )


def test_what_is_left_adds_up_over_independent_bands() -> None:
    # drawn at random: each 30 nm of absorption wrong by its own 5 %, scattering known
    plain = optics_of("dentine 3", status="measured")
    k = np.array(plain.absorption_per_mm)
    card = replace(plain, absorption_sd_per_mm=0.05 * k, scattering_sd_per_mm=0.0 * k)
    rng, middle = np.random.default_rng(3), labs_at(over_stump(plain, 0.7))
    drawn = [
        float(
            delta_e00(
                labs_at(
                    over_stump(
                        replace(
                            plain, absorption_per_mm=k * (1 + 0.05 * np.repeat(rng.normal(size=11), 3)[:31])
                        ),
                        0.7,
                    )
                ),
                middle,
            )[0]
        )
        for _ in range(600)
    ]
    told = float(identification_errors(over_stump(card, 0.7))[0])
    assert told == pytest.approx(float(np.sqrt(np.mean(np.square(drawn)))), rel=0.1)


def test_the_result_says_what_its_doubt_rests_on() -> None:
    plain = optics_of("dentine 3", status="measured")
    sd = 0.02 * np.array(plain.absorption_per_mm)
    assert basis_of(replace(plain, absorption_sd_per_mm=sd, scattering_sd_per_mm=sd)).startswith("standard")
    assert basis_of(plain).startswith("5% assumed")
    assert basis_of(optics_of("dentine 3")).startswith("10% assumed")
    assert len(list(moved_optics(plain))) == 2


def test_errors_that_cancel_in_the_colour_count_less_when_the_card_says_how_they_go_together() -> None:
    # a thick layer knows K / S alone: both wrong by the same factor changes nothing (two-flux, endless layer)
    plain = optics_of("opaque mid", status="measured")
    k, s = np.array(plain.absorption_per_mm), np.array(plain.scattering_per_mm)
    wild = 0.1 * (1 + 0.5 * np.sin(np.arange(31)))
    card = replace(plain, absorption_sd_per_mm=wild * k, scattering_sd_per_mm=wild * s)
    alone, together, against = (
        float(identification_errors(over_stump(replace(card, correlation=r), 3.0))[0])
        for r in (np.zeros(31), np.ones(31), -np.ones(31))
    )
    assert together < 0.02 * alone
    assert against == pytest.approx(np.sqrt(2.0) * alone, rel=0.1)
