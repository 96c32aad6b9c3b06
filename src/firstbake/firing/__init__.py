"""Firing: the sequence of bakes with sources and cautions."""

from firstbake.firing.programme import Programme

__all__ = ["Programme"]
