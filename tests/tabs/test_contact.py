"""An air gap declared as contact is caught where the readings allow it."""

import numpy as np
import pytest
from tab_readings import AIR, FLUID, ONE_MM, TWO_MM, tabs_of

from firstbake.tabs import identify


@pytest.mark.parametrize("role", ["dentine", "enamel", "transparent"])
def test_two_tabs_read_with_air_but_declared_in_contact_are_always_caught(role):
    """Measured: 20 of 20 both ways round; the true contact is accepted in 20 of 20."""
    rng = np.random.default_rng(6)
    caught = [
        identify(tabs_of(role, TWO_MM[role], contact=AIR, declared=FLUID, rng=rng)).contact for _ in range(20)
    ]
    assert all(c.contradicted and c.better == (AIR, AIR) for c in caught)
    right = [identify(tabs_of(role, TWO_MM[role], rng=rng)).contact for _ in range(20)]
    assert sum(c.contradicted for c in right) == 0


def test_thin_opaque_tabs_in_the_wrong_contact_are_caught_mostly():
    """Their scattering drowns the gap: measured 83 to 97 %, so at least 14 of 20 here."""
    rng = np.random.default_rng(7)
    found = [
        identify(tabs_of("opaque", TWO_MM["opaque"], contact=AIR, declared=FLUID, rng=rng)).contact
        for _ in range(20)
    ]
    assert sum(c.contradicted for c in found) >= 14
    assert all(c.suspected for c in found)


@pytest.mark.parametrize(("role", "least"), [("dentine", 15), ("enamel", 20), ("transparent", 20)])
def test_one_tab_can_only_be_suspected_and_says_so(role, least):
    rng = np.random.default_rng(8)
    wrong = [
        identify(tabs_of(role, (ONE_MM[role],), contact=AIR, declared=FLUID, rng=rng)).contact
        for _ in range(20)
    ]
    assert not any(c.contradicted for c in wrong)
    assert sum(c.suspected for c in wrong) >= least
    right = [identify(tabs_of(role, (ONE_MM[role],), rng=rng)).contact for _ in range(20)]
    assert sum(c.suspected for c in right) == 0
    assert all("second thickness" in c.sentence for c in right)
