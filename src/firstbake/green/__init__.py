"""Green: how far to overbuild, what to measure, how much to mix."""

from firstbake.green.green import Calliper, Green, Mix

__all__ = ["Calliper", "Green", "Mix"]
