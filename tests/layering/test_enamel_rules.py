"""The enamel field has the shape a ceramist asks for: zones, lobes and grooves, fissures and cusps."""

import numpy as np
import pytest
from measured_teeth import Measured

from firstbake.layering import CutBack, usual_cut_back, wanted_mm
from firstbake.layering.enamel import Site, least_mm, profile_mm, survey
from firstbake.teeth import Tooth


def site_and_rules(tooth: Measured) -> tuple[Site, CutBack]:
    case = tooth.case
    site = survey(case.contour.surface, case.core.surface, tooth.frame, tooth.room)
    return site, usual_cut_back(case.tooth, case.limits)


def peaks(heights: np.ndarray) -> int:
    inner = heights[1:-1]
    return int(((inner > heights[:-2]) & (inner >= heights[2:])).sum())


def test_incisor_outline_has_three_lobes_and_two_valleys(incisor: Measured) -> None:
    site, rules = site_and_rules(incisor)
    across = np.linspace(-0.95, 0.95, 191)
    heights = profile_mm(site, rules, across)
    edge = np.interp(across, site.edge_across, site.edge_z_mm)
    assert peaks(heights) == 3
    assert peaks(-heights) == 2
    assert (edge - heights).min() == pytest.approx(rules.tip_mm, abs=0.25)


def test_canine_outline_has_one_ridge(canine: Measured) -> None:
    site, rules = site_and_rules(canine)
    assert peaks(profile_mm(site, rules, np.linspace(-0.9, 0.9, 181))) == 1


def test_lobes_take_less_enamel_than_grooves(incisor: Measured) -> None:
    site, rules = site_and_rules(incisor)
    wanted = wanted_mm(site, rules)
    band = (site.outer > 0.99) & (np.abs(site.height_share - 0.8) < 0.05)
    groove = band & (np.abs(site.across - rules.grooves[0]) < 0.03)
    lobe = band & (np.abs(site.across - rules.lobes[1]) < 0.03)
    assert groove.any() and lobe.any()
    assert wanted[groove].mean() > wanted[lobe].mean() + 0.1


def test_enamel_grows_from_neck_to_edge_and_runs_out_at_the_margin(incisor: Measured) -> None:
    site, rules = site_and_rules(incisor)
    wanted = wanted_mm(site, rules)
    labial = (site.outer > 0.99) & (np.abs(site.across) < 0.1)
    means = [wanted[labial & (np.abs(site.height_share - w) < 0.05)].mean() for w in (0.2, 0.5, 0.8)]
    assert means[0] < means[1] < means[2]
    assert wanted[site.margin_mm < 0.02].max() < 0.01


def test_enamel_takes_no_more_than_its_share_of_the_room(incisor: Measured) -> None:
    site, rules = site_and_rules(incisor)
    least, _ = least_mm(site, rules)
    ceiling = np.maximum(rules.room_share * site.room_mm, least) + rules.groove_mm * (site.outer > 0)
    ceiling = np.minimum(ceiling, np.maximum(site.room_mm - rules.least_dentine_mm, least))
    assert (wanted_mm(site, rules) <= ceiling + 1e-9).all()


def test_fissures_take_less_enamel_than_cusps(molar: Measured) -> None:
    site, rules = site_and_rules(molar)
    wanted = wanted_mm(site, rules)
    fissure = (site.table > 0.9) & (site.relief < 0.05)
    cusp = (site.table > 0.9) & (site.relief > 0.95)
    assert fissure.any() and cusp.any()
    assert wanted[fissure].mean() < wanted[cusp].mean() - 0.1
    assert wanted[fissure].min() >= min(rules.fissure_mm, rules.least_enamel_mm) - 1e-9


@pytest.mark.parametrize("number", ["11", "13", "24", "36"])
def test_every_default_names_its_source(number: str, incisor: Measured) -> None:
    rules = usual_cut_back(Tooth(number), incisor.case.limits)
    assert set(rules.sources) == {name for name in vars(rules) if name != "sources"}
    assert all(source.strip() for source in rules.sources.values())
