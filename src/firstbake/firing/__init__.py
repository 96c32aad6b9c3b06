"""Firing: the sequence of bakes with sources and cautions, and what they do to the porcelain."""

from firstbake.firing.cautions import Caution, cautions_for
from firstbake.firing.cooling import Cooling, cooling_of
from firstbake.firing.corrected import body_powder
from firstbake.firing.correction import CorrectionPeak, correction_range, work_of
from firstbake.firing.curve import temperature_curve
from firstbake.firing.density import (
    RIPE,
    bonded_density,
    free_density,
    residual_porosity,
    stage_of,
    trapped_porosity,
    work_to,
)
from firstbake.firing.drying import drying_s, furnace_drying_s, steam_words, vapour_drying_s
from firstbake.firing.expansion import expansion_words
from firstbake.firing.heat_work import Ripening, flow_per_Pa, heat_work, ripening_of
from firstbake.firing.programme import Programme
from firstbake.firing.report import BakeReport, FiringReport, firing_report
from firstbake.firing.rival_laws import (
    cell_density,
    cell_time,
    closed_pore_time,
    frenkel_density_ratio,
    frenkel_shrinkage,
)
from firstbake.firing.rounding import EDGE_LIMIT_UM, capillary_um, ripple_left, sagged_um
from firstbake.firing.sequence import default_sequence

__all__ = [
    "EDGE_LIMIT_UM",
    "RIPE",
    "BakeReport",
    "Caution",
    "Cooling",
    "CorrectionPeak",
    "FiringReport",
    "Programme",
    "Ripening",
    "body_powder",
    "bonded_density",
    "capillary_um",
    "cautions_for",
    "cell_density",
    "cell_time",
    "closed_pore_time",
    "cooling_of",
    "correction_range",
    "default_sequence",
    "drying_s",
    "expansion_words",
    "firing_report",
    "flow_per_Pa",
    "free_density",
    "frenkel_density_ratio",
    "frenkel_shrinkage",
    "furnace_drying_s",
    "heat_work",
    "residual_porosity",
    "ripening_of",
    "ripple_left",
    "sagged_um",
    "stage_of",
    "steam_words",
    "temperature_curve",
    "trapped_porosity",
    "vapour_drying_s",
    "work_of",
    "work_to",
]
