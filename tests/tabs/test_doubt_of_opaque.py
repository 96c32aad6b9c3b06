"""The doubt of a very thin tab covers the truth as often as it says, the blue it hides included."""

from tab_readings import ONE_MM, coverage


def test_the_doubt_covers_the_truth_in_90_to_99_percent():
    """300 seeded trials: reading noise 0.003, scale 0.3 %, thickness 0.01 mm of 0.12 mm."""
    covered = coverage("opaque", (ONE_MM["opaque"],), trials=300)
    assert ((covered > 0.90) & (covered < 0.99)).all(), covered
