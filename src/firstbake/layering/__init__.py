"""Layering: dentine, cut-back, enamel and the optional layers, fired size."""

from firstbake.layering.layers import Layer, Layers

__all__ = ["Layer", "Layers"]
