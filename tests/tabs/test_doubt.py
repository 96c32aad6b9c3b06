"""With noise, the doubt that is told covers the truth as often as it says."""

import numpy as np
import pytest
from tab_readings import ONE_MM, coverage, tabs_of

from firstbake.tabs import identify


@pytest.mark.parametrize("role", ["dentine", "enamel", "transparent"])
def test_the_doubt_covers_the_truth_in_90_to_99_percent(role):
    """300 seeded trials: reading noise 0.003, scale 0.3 %, thickness 0.02 mm."""
    covered = coverage(role, (ONE_MM[role],), trials=300)
    assert ((covered > 0.90) & (covered < 0.99)).all(), covered


def test_two_tabs_tell_more_than_one_and_thin_scattering_matches_the_noise_study():
    """The noise study of this project gives 3 to 5 % at 0.5 to 1.0 mm of dentine."""
    rng = np.random.default_rng(4)
    one = identify(tabs_of("dentine", (0.7,), rng=rng))
    two = identify(tabs_of("dentine", (0.5, 1.0), rng=rng))
    share = [np.median(f.scattering_sd_per_mm / f.scattering_per_mm) for f in (one, two)]
    assert 0.025 < share[0] < 0.05
    assert share[1] < 0.8 * share[0]
