"""The usual precautions: shown where they belong, each with a source."""

from collections.abc import Callable

import numpy as np
import pytest

from firstbake.firing import cautions_for, default_sequence
from firstbake.powder import CoreMaterial, Powder

MakePowder = Callable[..., Powder]
MakeCore = Callable[..., CoreMaterial]


@pytest.mark.parametrize("kind", ["metal", "zirconia", "alumina", "glass-ceramic"])
def test_every_caution_has_a_source_and_the_usual_ones_are_there(core: MakeCore, kind: str) -> None:
    found = cautions_for(core(kind))
    assert all(c.hazard and c.sentence.endswith(".") and c.source for c in found)
    hazards = {c.hazard for c in found}
    assert {
        "planning aid",
        "silica dust",
        "eyes",
        "hot furnace",
        "steam",
        "infection",
        "fibre dust",
    } <= hazards
    assert ("hydrofluoric acid" in hazards) == (kind == "glass-ceramic")
    assert ("zirconia surface" in hazards) == (kind == "zirconia")


def test_nickel_cobalt_and_unknown_beryllium_are_named(core: MakeCore) -> None:
    hazards = {c.hazard for c in cautions_for(core("metal", holds=("nickel",), beryllium="not stated"))}
    assert {"nickel", "beryllium"} <= hazards
    assert "cobalt" not in hazards
    hazards = {c.hazard for c in cautions_for(core("metal", holds=("cobalt",), beryllium="none"))}
    assert "cobalt" in hazards
    assert not {"nickel", "beryllium"} & hazards


@pytest.mark.parametrize(
    ("kind", "core_minus_veneer", "words"),
    [
        # On metal, Zhonghua Kou Qiang Yi Xue Za Zhi 1991;26:329, as veneer minus metal: safe from +0.9 to
        # -1.0, crazing over +1.7, corners burst under -1.5.
        ("metal", -0.9, None),
        ("metal", 1.0, None),
        ("metal", 1.2, "near the limit"),
        ("metal", -1.2, "near the limit"),
        ("metal", 1.6, "do not belong together"),
        ("metal", -1.8, "do not belong together"),
        # Others, common practice: 0.5 to 1.0 over the veneer, warn over 1.0, stop over 1.5 or under 0.
        ("zirconia", 0.8, None),
        ("zirconia", 1.2, "near the limit"),
        ("zirconia", -0.1, "do not belong together"),
        ("zirconia", 1.6, "do not belong together"),
    ],
)
def test_expansion_mismatch_is_judged_by_its_limits(
    core: MakeCore, powder: MakePowder, kind: str, core_minus_veneer: float, words: str | None
) -> None:
    material = core(kind, expansion=10.5)
    found = [
        c.sentence
        for c in cautions_for(material, (powder("dentine", expansion=10.5 - core_minus_veneer),))
        if c.hazard == "expansion"
    ]
    assert len(found) == (words is not None)
    assert words is None or words in found[0]


def test_cautions_stand_at_their_step(core: MakeCore, powder: MakePowder) -> None:
    material = core("metal", holds=("nickel",), beryllium="not stated")
    bakes = {
        b.bake: " ".join(b.cautions) for b in default_sequence(material, (powder("dentine"),), np.ones(3))
    }
    assert all("use tongs" in text for text in bakes.values())
    assert "beryllium" in bakes["oxidise"]
    assert "Nickel" in bakes["oxidise"]
    assert "Nothing wet" not in bakes["oxidise"]
    assert all("Nothing wet" in bakes[name] for name in ("main", "correction", "glaze"))
    assert "silica" in bakes["correction"]
    assert "fibres" in bakes["oxidise"]
    assert "fibres" not in bakes["main"]
