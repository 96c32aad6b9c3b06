"""Layering: dentine, cut-back, enamel and the optional layers, fired size."""

from firstbake.layering.build import layer_up
from firstbake.layering.cut_back import CutBack, usual_cut_back
from firstbake.layering.enamel import wanted_mm
from firstbake.layering.field import Check, CutBackField, prepare_cut_back
from firstbake.layering.layers import Layer, Layers

__all__ = [
    "Check",
    "CutBack",
    "CutBackField",
    "Layer",
    "Layers",
    "layer_up",
    "prepare_cut_back",
    "usual_cut_back",
    "wanted_mm",
]
