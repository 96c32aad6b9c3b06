"""The sheet says what the plan says."""

import handmade
import numpy as np
import pytest

from firstbake.sheet import write_sheet
from firstbake.sheet.cautions import one_line
from firstbake.sheet.words import listed, minutes, number, sentence, with_unit


def test_the_lead_names_the_only_short_place(sheet):
    assert sheet.lead == "Room is short in one place: 0.35\u202fmm, distolabial, cervical third."
    assert not sheet.lead_ok


def test_the_lead_counts_places_and_says_when_all_is_well():
    assert write_sheet(handmade.plan_of("11", thin=0)).lead == "Room is enough everywhere."
    many = write_sheet(handmade.plan_of("11", thin=4)).lead
    assert many.startswith("Room is short in 4 places, worst 0.35")


def test_every_powder_that_is_weighed_has_its_grams_in_a_step(plan, sheet):
    amounts = {step.amount for step in sheet.steps}
    said = " ".join(" ".join(step.details) for step in sheet.steps)
    for mix in plan.mix:
        assert f"lay {with_unit(mix.lay_g, 2, 'g')}" in amounts
        assert f"{mix.powder} {with_unit(mix.powder_g, 2, 'g')}" in said


def test_each_bake_is_one_step_in_order_and_the_build_comes_before_the_main_bake(plan, sheet):
    what = [step.what for step in sheet.steps]
    bakes = [
        "Only if short: correction" if p.bake == "correction" else f"Bake: {p.bake}" for p in plan.firing
    ]
    rows = [what.index(bake) for bake in bakes]
    assert rows == sorted(rows)
    assert rows[0] < what.index("Build dentine to full contour") < what.index("Cut back") < rows[1]


def test_a_one_powder_plan_has_no_cut_back_and_no_second_layer(plan):
    layers = handmade.changed(plan.layers, layers=plan.layers.layers[:1], cut_back=None)
    one = write_sheet(handmade.changed(plan, layers=layers, mix=plan.mix[:1]))
    words = " ".join(step.what for step in one.steps)
    assert "Cut back" not in words
    assert "enamel" not in words
    assert {stroke.part for d in one.drawings for stroke in d.strokes} == {"green", "contour", "core"}


def test_no_caution_is_said_twice_and_each_stands_at_a_step_or_at_the_foot(plan, sheet):
    at_steps = [step.caution for step in sheet.steps if step.caution]
    assert len(at_steps) == len(set(at_steps))
    assert not set(at_steps) & set(sheet.cautions)
    for programme in plan.firing:
        for caution in programme.cautions:
            assert one_line(caution) in {*at_steps, *sheet.cautions}


def test_a_colour_never_stands_without_its_doubt(sheet):
    assert all(row.doubt_delta_e00 > 0 for row in sheet.colour)
    assert [row.zone for row in sheet.colour] == ["cervical", "body", "incisal"]


def test_a_short_place_offers_choices_and_nothing_is_warned_of_twice(plan):
    twice = handmade.changed(plan, warnings=(*plan.colour[0].weak, "one more thing"))
    warned = write_sheet(twice).warnings
    sentences = [w.sentence for w in warned]
    assert len(sentences) == len(set(sentences))
    assert sum("the neck may look greyer" in text for text in sentences) == 1
    assert sentences[-1] == "One more thing."
    assert "thin the core there to 0.40 mm, its card allows it" in warned[0].choices


def test_drawings_have_the_size_of_the_mesh(plan, sheet):
    """The green outline's box against the projected vertices."""
    local = plan.frame.to_local(plan.green.contour.vertices_mm)
    labial, _, incisal = sheet.drawings
    wide, deep, high = np.ptp(local, axis=0)
    assert labial.size_mm == pytest.approx((wide, high), abs=0.03)
    assert incisal.size_mm == pytest.approx((wide, deep), abs=0.03)


def test_numbers_on_drawings_are_rows_of_the_calliper_table(plan, sheet):
    rows = {row.letter: row.green_mm for row in sheet.callipers}
    measures = [m for d in sheet.drawings for m in d.measures]
    assert len({m.letter for m in measures}) == len(measures) >= 8
    assert all(rows[m.letter] == m.green_mm for m in measures)
    assert {m.letter for m in sheet.drawings[0].measures} == {"A", "B", "C", "D"}


def test_calliper_sizes_are_named_with_their_doubt(plan):
    case = handmade.changed(plan.case, source="calliper sizes", size_doubt_mm=0.12)
    sheet = write_sheet(handmade.changed(plan, case=case))
    assert sheet.head.source == "calliper sizes"
    assert "± 0.12\u202fmm" in sheet.notes[0]


def test_small_words():
    assert number(-0.0001, 2) == "0.00"
    assert number(-0.5, 1) == "\u22120.5"
    assert minutes(45) == "45\u202fs"
    assert minutes(360) == "6\u202fmin"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert sentence("wet and cold") == "Wet and cold."
    long = (
        "Do this before that, and never the other way round, whatever the hour. " * 2
        + "(Name et al. (2014), doi)"
    )
    assert one_line(long).endswith("hour.")
