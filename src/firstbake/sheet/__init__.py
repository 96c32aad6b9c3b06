"""The bench sheet as pure values: words, steps, tables and true-scale drawings."""

from firstbake.sheet.drawing import Drawing, Measure, Stroke
from firstbake.sheet.drawings import above_margin
from firstbake.sheet.lead import lead_of
from firstbake.sheet.raster import Raster, raster_of
from firstbake.sheet.sheet import (
    CalliperRow,
    ColourRow,
    ContactRow,
    FiringRow,
    Head,
    MixRow,
    RecipeRow,
    Sheet,
    Step,
    Warned,
)
from firstbake.sheet.views import VIEWS, View, view_of
from firstbake.sheet.words import bench_doubt, bench_mm, lab_words
from firstbake.sheet.writing import write_sheet

__all__ = [
    "VIEWS",
    "CalliperRow",
    "ColourRow",
    "ContactRow",
    "Drawing",
    "FiringRow",
    "Head",
    "Measure",
    "MixRow",
    "Raster",
    "RecipeRow",
    "Sheet",
    "Step",
    "Stroke",
    "View",
    "Warned",
    "above_margin",
    "bench_doubt",
    "bench_mm",
    "lab_words",
    "lead_of",
    "raster_of",
    "view_of",
    "write_sheet",
]
