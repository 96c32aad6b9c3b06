"""Green: how far to overbuild, what to measure, how much to mix."""

from firstbake.green.build import build_green
from firstbake.green.callipers import measure_callipers
from firstbake.green.green import Calliper, Green, Mix
from firstbake.green.mix import mix_of

__all__ = ["Calliper", "Green", "Mix", "build_green", "measure_callipers", "mix_of"]
