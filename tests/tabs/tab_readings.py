"""Readings of invented powders, worked out with the text-book formulas and not with the program's own.

Two-flux layer in the a, b, coth form (Kubelka 1948); faces after Saunderson 1942 with Fresnel reflectances
integrated here by a plain sum. Index 1.5 throughout.
"""

import numpy as np

from firstbake.powder import parametric_optics
from firstbake.tabs import Tab, TabSet, identify

NM = np.arange(400.0, 701.0, 10.0)
SPEX, SPIN, FORTY_FIVE = "d/8 specular excluded", "d/8 specular included", "45/0"
FLUID, AIR = "optical contact", "air gap"
# S550, p, K0, Kb, Kg in 1/mm, invented
POWDERS = {
    "opaque": (40, 0.4, 0.3262, 10.978, 0.3015),
    "dentine": (3.0, 0.9, 0.0411, 1.0946, 0.0082),
    "enamel": (1.10, 1.3, 0.0354, 0.2022, 0.0036),
    "transparent": (0.25, 1.5, 0.0133, 0.0571, 0.0018),
}
TWO_MM = {"opaque": (0.10, 0.20), "dentine": (0.5, 1.0), "enamel": (1.0, 1.8), "transparent": (1.2, 2.2)}
ONE_MM = {"opaque": 0.12, "dentine": 0.7, "enamel": 1.5, "transparent": 2.0}
SD_MM = {"opaque": 0.01, "dentine": 0.02, "enamel": 0.02, "transparent": 0.02}
NOISE = 0.003


def _fresnel(angle):
    inner = np.arcsin(np.sin(angle) / 1.5)
    s = ((np.cos(angle) - 1.5 * np.cos(inner)) / (np.cos(angle) + 1.5 * np.cos(inner))) ** 2
    p = ((1.5 * np.cos(angle) - np.cos(inner)) / (1.5 * np.cos(angle) + np.cos(inner))) ** 2
    return 0.5 * (s + p)


_ANGLE = (np.arange(200_000) + 0.5) / 200_000 * np.pi / 2
OUT = float(np.mean(_fresnel(_ANGLE) * np.sin(2 * _ANGLE)) * np.pi / 2)
IN = 1 - (1 - OUT) / 1.5**2
UPRIGHT, OBLIQUE = float(_fresnel(np.array(0.0))), float(_fresnel(np.array(np.pi / 4)))


def outside(r, geometry):
    """What is seen of a body with internal reflectance r."""
    passed = (1 - OBLIQUE) * (1 - UPRIGHT) / 1.5**2 if geometry == FORTY_FIVE else (1 - UPRIGHT) * (1 - IN)
    return (UPRIGHT if geometry == SPIN else 0.0) + passed * r / (1 - IN * r)


def inside(seen, geometry):
    y = seen - (UPRIGHT if geometry == SPIN else 0.0)
    passed = (1 - OBLIQUE) * (1 - UPRIGHT) / 1.5**2 if geometry == FORTY_FIVE else (1 - UPRIGHT) * (1 - IN)
    return y / (passed + IN * y)


def read_over(k, s, thickness_mm, *, tile, contact, geometry):
    """Reading of a tab over a tile that reads `tile` when bare."""
    air = IN + (1 - IN) * (1 - OUT) * tile / (1 - OUT * tile)
    g = inside(tile, geometry) if contact == FLUID else air
    a = 1 + k / s
    b = np.sqrt(a * a - 1)
    coth = 1 / np.tanh(b * s * thickness_mm)
    return outside((1 - g * (a - b * coth)) / (a - g + b * coth), geometry)


def optics_of(role):
    s550, p, k0, kb, kg = POWDERS[role]
    return parametric_optics(s550, p, k0, kb, kg_per_mm=kg)


def tabs_of(
    role, sizes_mm, *, contact=FLUID, declared=None, geometry=SPEX, rng=None, optics=None, sd_mm=None
):
    """Tabs of a role's invented powder; with rng, readings, scale and thickness carry their noise."""
    optics = optics or optics_of(role)
    k, s = optics.absorption_per_mm, optics.scattering_per_mm
    scale = 1.0 if rng is None else 1 + rng.normal(0, 0.003)

    def noisy(values):
        return values if rng is None else np.maximum(scale * values + rng.normal(0, NOISE, 31), 0.0)

    lift = 0.04 if geometry == SPIN else 0.0
    black, white = np.full(31, 0.03 + lift), np.full(31, 0.87 + lift)
    tabs = []
    for mm in sizes_mm:
        seen = [read_over(k, s, mm, tile=t, contact=contact, geometry=geometry) for t in (black, white)]
        told = mm if rng is None else max(mm + rng.normal(0, sd_mm or SD_MM[role]), 0.03)
        tabs.append(Tab(told, sd_mm or SD_MM[role], noisy(seen[0]), noisy(seen[1]), declared or contact))
    return TabSet(tuple(tabs), noisy(black), noisy(white), geometry, role)


def coverage(role, sizes_mm, *, trials):
    """(2,) share of trials and wavelengths in which 1.96 told deviations cover the true K and S."""
    true, rng = optics_of(role), np.random.default_rng(20)
    hits = []
    for _ in range(trials):
        found = identify(tabs_of(role, sizes_mm, rng=rng))
        for seen, truth, sd in (
            (found.absorption_per_mm, true.absorption_per_mm, found.absorption_sd_per_mm),
            (found.scattering_per_mm, true.scattering_per_mm, found.scattering_sd_per_mm),
        ):
            hits.append(np.abs(seen - truth) < 1.96 * sd)
    return np.mean(np.reshape(hits, (trials, 2, -1)), axis=(0, 2))
