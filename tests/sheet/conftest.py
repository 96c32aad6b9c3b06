"""A plan built by hand: an incisor of stacked ellipses over a core of the same make."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import handmade


@pytest.fixture(scope="session")
def plan():
    return handmade.plan_of("11")


@pytest.fixture(scope="session")
def sheet(plan):
    from firstbake.sheet import write_sheet

    return write_sheet(plan)
