"""The unit is found from the size, or asked for."""

import numpy as np
import pytest

from firstbake.errors import BadMesh
from firstbake.mesh import find_unit, main_extent, scale_to_mm, unit_name


@pytest.mark.parametrize(
    ("extent", "row", "unit"),
    [
        (10.5, False, "mm"), (6, False, "mm"), (31.0, False, "mm"), (2.2, False, "cm"), (0.3, False, "inch"),
        (0.0105, False, "m"), (10500, False, "um"), (74, True, "mm"), (9.0, True, "mm"), (0.074, True, "m"),
    ],
)  # fmt: skip
def test_the_unit_that_fits_is_found(extent: float, row: bool, unit: str) -> None:
    assert find_unit(extent, unit=None, row=row, name="a") == unit


@pytest.mark.parametrize(("extent", "row"), [(1.0, False), (0.8, False), (3.0, True)])
def test_a_size_that_fits_two_units_is_asked_about(extent: float, row: bool) -> None:
    with pytest.raises(BadMesh, match=r"unit is not clear.*unit ="):
        find_unit(extent, unit=None, row=row, name="a")


@pytest.mark.parametrize(
    ("extent", "row"), [(60.0, False), (3.6, False), (0, False), (1e8, False), (200.0, True)]
)
def test_a_size_that_fits_no_unit_is_refused(extent: float, row: bool) -> None:
    with pytest.raises(BadMesh, match="no tooth has this size in any unit"):
        find_unit(extent, unit=None, row=row, name="a")


def test_the_stated_unit_wins_unless_it_is_impossible() -> None:
    assert find_unit(1.0, unit="cm", row=False, name="a") == "cm"
    assert find_unit(1.0, unit=" Inch", row=False, name="a") == "inch"
    with pytest.raises(BadMesh, match="check the unit"):
        find_unit(10.0, unit="inch", row=False, name="a")
    with pytest.raises(BadMesh, match="not a unit"):
        unit_name("furlong")
    assert unit_name("µm") == "um"
    assert scale_to_mm(np.ones((1, 3)), "inch").tolist() == [[25.4] * 3]


def test_a_far_scrap_does_not_count_for_the_size() -> None:
    points = np.array([[0, 0, 0], [10, 0, 0], [0, 8, 0], [500, 0, 0], [500.1, 0, 0], [500, 0.1, 0.0]])
    assert main_extent(points, np.array([[0, 1, 2], [3, 4, 5]])) == 10
