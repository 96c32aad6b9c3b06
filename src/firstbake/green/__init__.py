"""Green: how far to overbuild, what to measure, how much to mix, and what a build becomes."""

from firstbake.green.baked import Baked, bake_green
from firstbake.green.build import build_green
from firstbake.green.callipers import measure_callipers
from firstbake.green.column_build import column_green
from firstbake.green.green import Calliper, Green, Mix
from firstbake.green.mix import mix_of, weighed

__all__ = [
    "Baked",
    "Calliper",
    "Green",
    "Mix",
    "bake_green",
    "build_green",
    "column_green",
    "measure_callipers",
    "mix_of",
    "weighed",
]
