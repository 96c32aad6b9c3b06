"""Usual bakes by kind of core: what stands in for a card or a maker's word that is missing.

Unless a row says otherwise the figures are common practice of the trade without a published source:
oxidising at 950 to 1000 degC for 0 to 5 min; opaque dried 2 to 6 min at 400 to 500 degC, 55 to 80 K/min, 930
to 980 degC; body dried 4 to 9 min, 45 to 60 K/min, vacuum from about 500 degC to the peak, 900 to 930 degC on
metal, 800 to 930 degC at 40 to 55 K/min on zirconia; liner at 900 to 960 degC.
"""

from dataclasses import dataclass

PRACTICE = "common practice"
MEMORY = "from memory, unverified"
VACUUM_FROM_DEGC = 500.0


@dataclass(frozen=True)
class UsualBake:
    """Figures of one bake before a card has its say; range of the peak as low_degC and high_degC."""

    peak_degC: float
    low_degC: float
    high_degC: float
    climb_K_per_min: float
    status: str = PRACTICE


# kind of core -> bake -> figures
USUAL_BAKES: dict[str, dict[str, UsualBake]] = {
    "metal": {
        "oxidise": UsualBake(980.0, 950.0, 1000.0, 55.0),
        "liner": UsualBake(940.0, 900.0, 960.0, 55.0),
        "opaque": UsualBake(950.0, 930.0, 980.0, 70.0),
        "margin": UsualBake(940.0, 930.0, 960.0, 55.0, MEMORY),
        "main": UsualBake(920.0, 900.0, 930.0, 55.0),
    },
    "zirconia": {
        "liner": UsualBake(930.0, 900.0, 960.0, 55.0),
        "opaque": UsualBake(930.0, 900.0, 960.0, 55.0, MEMORY),
        "margin": UsualBake(920.0, 900.0, 940.0, 45.0, MEMORY),
        "main": UsualBake(900.0, 800.0, 930.0, 45.0),
    },
    "alumina": {
        "liner": UsualBake(940.0, 900.0, 960.0, 55.0, MEMORY),
        "opaque": UsualBake(940.0, 900.0, 960.0, 55.0, MEMORY),
        "margin": UsualBake(930.0, 910.0, 950.0, 45.0, MEMORY),
        "main": UsualBake(920.0, 900.0, 930.0, 45.0, MEMORY),
    },
    "glass-ceramic": {
        "liner": UsualBake(780.0, 750.0, 800.0, 45.0, MEMORY),
        "opaque": UsualBake(780.0, 750.0, 800.0, 45.0, MEMORY),
        "margin": UsualBake(780.0, 750.0, 800.0, 45.0, MEMORY),
        "main": UsualBake(770.0, 750.0, 800.0, 45.0, MEMORY),
    },
}

PURPOSE = {
    "oxidise": "Bake the bare alloy: an even matt oxide is right, patches mean a dirty surface.",
    "liner": "Tinted liner that wets the core.",
    "wash": "Thin first coat of opaque that wets the metal.",
    "opaque": "Opaque that hides the core.",
    "margin": "Margin porcelain; repeat until the gap is closed.",
    "main": "Dentine and enamel, the whole build.",
    "correction": "Only if short: what is missing, a little cooler so that the first bake keeps its form.",
    "glaze": "Glaze, in air.",
}

# Grades of one rule each, K below the main bake: value, most, least. Common practice: a correction 5 to 20 K
# cooler; a glaze 0 to 40 K cooler, here under the correction so that its form holds too.
CORRECTION_BELOW_K = (10.0, 20.0, 5.0)
GLAZE_BELOW_K = (15.0, 40.0, 0.0)
WASH_ABOVE_K = 10.0  # common practice: the wash is fired slightly hotter than the opaque

DRY_DEGC = 450.0  # common practice, 400 to 500
THIN_DRY_S = 240.0  # common practice for wash, opaque, liner: 2 to 6 min
GLAZE_DRY_S = 120.0  # common practice, no published source
HOLD_S = 60.0  # common practice, 1 min
NOBLE_HOLD_S = 300.0  # common practice, up to 5 min: tin and indium need time to reach the surface

# Fast and slow cooling of Rodrigues et al. 2021, doi 10.1016/j.dental.2021.08.019.
BENCH_K_PER_MIN, BENCH_TO_DEGC = 300.0, 200.0
SLOW_K_PER_MIN = 30.0
SLOW_TO_DEGC = 500.0  # common practice: below the glass transition, 450 to 600 degC, where no card gives it
# How far under the lowest glass transition the muffle stays shut; a choice of this project.
SLOW_MARGIN_K = 10.0
