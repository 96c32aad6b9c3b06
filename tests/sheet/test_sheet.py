"""The sheet says what the plan says."""

import dataclasses

import handmade
import numpy as np
import pytest

from firstbake.firing import cautions_for, default_sequence
from firstbake.room import Clearance
from firstbake.sheet import above_margin, bench_doubt, bench_mm, write_sheet
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
        f"Only if short, bake {k + 1}: correction" if p.bake == "correction" else f"Bake {k + 1}: {p.bake}"
        for k, p in enumerate(plan.firing)
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


def test_no_caution_is_said_twice_and_each_stands_at_a_step_at_the_table_or_at_the_foot(plan, sheet):
    said = " ".join([*(step.caution for step in sheet.steps), sheet.firing_care, *sheet.cautions])
    cautions = cautions_for(plan.case.core_material, plan.case.powders)
    for caution in cautions:
        expected = caution.hazard not in ("planning aid", "expansion")
        assert said.count(one_line(f"{caution.sentence} ({caution.source})").rstrip("*")) == expected
    for programme in plan.firing:
        for caution in programme.cautions:
            assert said.count(one_line(caution)) == 1


def test_each_caution_stands_at_the_step_it_is_tied_to(sheet):
    at = {step.what: step.caution for step in sheet.steps}
    assert "infectious" in at["Check what came in"]
    assert "No steel on the slab" in next(text for what, text in at.items() if what.startswith("Build"))
    assert "Nothing wet goes into a hot furnace" in at["Bake 1: wash"]
    assert "Nothing wet" not in at["Bake 2: main"]
    assert "compressed air" in at["Seat, measure, grind"]
    assert "thermometers" in sheet.firing_care


def test_a_colour_never_stands_without_its_doubt(sheet):
    assert all(row.doubt_delta_e00 > 0 for row in sheet.colour)
    assert [row.zone for row in sheet.colour] == ["cervical", "body", "incisal"]


def test_a_short_place_offers_choices_and_nothing_is_warned_of_twice(plan):
    weak = tuple(f"Colour, cervical zone: {words}" for words in plan.colour[0].weak)
    sheet = write_sheet(handmade.changed(plan, warnings=(*weak, "one more thing", "one more thing")))
    sentences = [w.sentence for w in sheet.warnings]
    assert len(sentences) == len(set(sentences))
    assert "One more thing." in sentences
    assert sheet.colour_notes == (f"Cervical: {plan.colour[0].weak[0]}",)
    first = sheet.warnings[0]
    assert first.assumed.startswith("accept it")
    assert "thin the core there to 0.40 mm, its maker allows it" in first.bench
    assert first.dentist == ("ask for 0.3 mm more reduction",)
    assert "May 0.15\u202fmm more come off" in first.send


def test_specks_and_spots_of_one_place_are_one_line_each(plan):
    spot = plan.room.thin[0]
    again = dataclasses.replace(spot, depth_mm=0.1, worst_mm=0.4)
    speck = dataclasses.replace(spot, depth_mm=0.02, worst_mm=0.48, where="mesial, middle third")
    room = handmade.changed(plan.room, thin=(spot, again, speck))
    sheet = write_sheet(handmade.changed(plan, room=room))
    assert sheet.lead.startswith("Room is short in one place")
    short = [w for w in sheet.warnings if w.sentence.startswith("Room is short")]
    assert len(short) == 1
    assert "1 more spot there" in short[0].sentence
    (last,) = (w for w in sheet.warnings if "less than" in w.sentence)
    assert "mesial, middle third" in last.sentence
    assert not last.choices


def test_layers_that_do_not_fit_at_a_thin_patch_are_not_warned_of_again(plan):
    spot = plan.room.thin[0]
    conflict = dataclasses.replace(spot, kind="layers do not fit", where="labial, cervical third")
    layers = handmade.changed(plan.layers, conflicts=(conflict,))
    sentences = [w.sentence for w in write_sheet(handmade.changed(plan, layers=layers)).warnings]
    assert not any("do not both fit" in text for text in sentences)


def test_the_lead_tells_an_assumed_room_from_a_measured_one(plan):
    def lead(*, assumed, thin=()):
        case = handmade.changed(plan.case, source="calliper sizes", size_doubt_mm=0.2, assumed=assumed)
        room = handmade.changed(plan.room, thin=thin)
        return write_sheet(handmade.changed(plan, case=case, room=room)).lead

    words = "room not measured, usual room taken: "
    places = "labial_cervical_mm, labial_middle_mm, labial_incisal_mm, incisal_mm, palatal_mm, mesial_mm"
    assert lead(assumed=(f"{words}{places}, distal_mm",)).startswith("Room not measured: core shape assumed")
    some = lead(assumed=(f"{words}mesial_mm, distal_mm",))
    assert some == "Room assumed, not measured: mesial and distal. Measure it there."
    assert "enough" not in lead(assumed=())


def test_the_lead_names_porcelain_without_support_and_a_side_that_is_short_all_over(plan):
    spot = dataclasses.replace(plan.room.thin[0], kind="unsupported", worst_mm=2.25, where="incisal edge")
    room = handmade.changed(plan.room, thin=(), unsupported=(spot,))
    told = write_sheet(handmade.changed(plan, room=room)).lead
    assert told == "Room is enough; the edge stands 2.25\u202fmm beyond the core."
    surface = plan.case.contour.surface
    inner = np.flatnonzero((surface.vertex_normals @ plan.frame.axes.T)[:, 1] < -0.5).astype(np.int32)
    wide = dataclasses.replace(plan.room.thin[0], vertices=inner, where="palatal, middle third")
    told = write_sheet(handmade.changed(plan, room=handmade.changed(plan.room, thin=(wide,)))).lead
    assert told == "Room is short over most of the palatal, worst 0.35\u202fmm."


def test_the_second_sentence_names_the_worst_colour_and_what_is_not_known(plan):
    worse = dataclasses.replace(plan.colour[1], delta_e00=5.8, doubt_delta_e00=0.8, words="much lighter")
    second = write_sheet(handmade.changed(plan, colour=(plan.colour[0], worse, plan.colour[2]))).second
    assert second.startswith("Colour: body much lighter (ΔE00 5.8 ± 0.8); not reached with these powders.")
    assert "Bite not known: no opposing teeth given." in second


def test_contacts_are_told_apart_and_an_open_one_is_asked_about(plan):
    near = plan.room.contacts[0]
    far = dataclasses.replace(near, side="distal", gap_mm=0.55)
    rows = write_sheet(
        handmade.changed(plan, room=handmade.changed(plan.room, contacts=(far, near)))
    ).contacts
    assert rows[0].words == "Mesial touches (0.01\u202fmm open); build to +0.40, wet."
    assert rows[1].words.startswith("Distal 0.55\u202fmm open, no extra is built: close it")
    assert "left open on purpose" in rows[1].choices
    alone = write_sheet(handmade.changed(plan, room=handmade.changed(plan.room, contacts=()))).contacts
    assert "no neighbours given" in alone[0].words


def test_the_wet_edge_in_the_bite_is_said(plan):
    surface = plan.case.contour.surface
    edge = int(np.argmax(plan.green.overbuild_mm))
    bite = Clearance("opposing.stl", 0.3, surface.vertices_mm[edge], "incisal edge")
    rows = write_sheet(handmade.changed(plan, room=handmade.changed(plan.room, clearance=(bite,)))).contacts
    into = plan.green.overbuild_mm[edge] - 0.3
    assert f"stands about {into:.1f}\u202fmm into the bite" in rows[-1].words


@pytest.mark.parametrize(
    ("case_demo", "card_demo", "badge"),
    [
        (True, True, "DEMO: invented case"),
        (False, True, "DEMO POWDERS: not for a patient"),
        (False, False, ""),
    ],
)
def test_the_badge_says_what_is_invented(plan, case_demo, card_demo, badge):
    core = dataclasses.replace(plan.case.core_material, demo=card_demo)
    powders = tuple(dataclasses.replace(p, demo=card_demo) for p in plan.case.powders)
    case = handmade.changed(plan.case, demo=case_demo, core_material=core, powders=powders)
    assert write_sheet(handmade.changed(plan, case=case)).head.badge == badge


def test_doubtful_axes_are_to_be_checked_at_the_drawing(plan, sheet):
    assert sheet.head.axes == ""
    doubtful = handmade.changed(plan, frame=handmade.changed(plan.frame, confidence=0.7))
    assert write_sheet(doubtful).head.axes == "check mesial and labial"


def test_metal_is_oxidised_blasted_and_gets_two_coats_each_with_its_bake(plan):
    metal = dataclasses.replace(plan.case.core_material, kind="metal", holds=("cobalt", "chromium"))
    powders = (handmade.powder("my-opaque", "opaque"), *plan.case.powders)
    coat = dataclasses.replace(
        plan.layers.layers[0],
        powder=powders[0],
        order=0,
        thickness_mm=np.full_like(plan.room.thickness_mm, 0.2),
    )
    mix = (dataclasses.replace(plan.mix[0], powder="my-opaque", role="opaque", cut_off_g=0.0), *plan.mix)
    firing = default_sequence(metal, powders, np.array([1.0]))
    steps = write_sheet(
        handmade.changed(
            plan,
            case=handmade.changed(plan.case, core_material=metal, powders=powders),
            layers=handmade.changed(plan.layers, layers=(coat, *plan.layers.layers)),
            mix=mix,
            firing=firing,
        )
    ).steps
    words = " | ".join(step.what for step in steps)
    order = (
        "Bake 1: oxidise", "Blast and clean the oxide", "Lay on the wash coat of opaque", "Bake 2: wash",
        "Lay on the second opaque coat", "Bake 3: opaque", "Build dentine to full contour", "Bake 4: main",
    )  # fmt: skip
    places = [words.index(what) for what in order]
    assert places == sorted(places)
    assert steps[0].asked == ("Disinfected?", "Cobalt: allergy asked?")


def test_dentine_that_comes_off_again_is_said_where_it_is_laid_on(plan):
    mix = tuple(dataclasses.replace(m, lay_g=m.lay_g + 0.17, cut_off_g=0.17) for m in plan.mix[:1])
    steps = write_sheet(handmade.changed(plan, mix=(*mix, *plan.mix[1:]))).steps
    (build,) = (step for step in steps if step.what == "Build dentine to full contour")
    assert build.amount == f"lay {with_unit(mix[0].lay_g, 2, 'g')}"
    assert "About 0.17\u202fg comes off again at the cut-back." in " ".join(build.details)


def test_the_body_tells_its_shares_and_a_back_tooth_has_an_occlusal_zone(plan):
    body = dataclasses.replace(plan.colour[1], stack_mm=(("demo-dentine-1", 0.6), ("demo-enamel-2", 0.25)))
    rows = write_sheet(handmade.changed(plan, colour=(plan.colour[0], body, plan.colour[2]))).colour
    assert rows[1].stack.endswith("(71:29)")  # 0.60 and 0.25 mm
    back = write_sheet(handmade.plan_of("36", rings=20, around=40))
    assert [row.zone for row in back.colour] == ["cervical", "body", "occlusal"]


def test_cooling_is_said_once(plan):
    same = tuple(dataclasses.replace(p, cool="Slow, muffle shut to 550 °C.") for p in plan.firing)
    told = write_sheet(handmade.changed(plan, firing=same)).cooling
    assert told == "Maker's cooling. None given: slow, muffle shut to 550 °C; papers disagree."
    other = (dataclasses.replace(same[0], cool="Open at 600 °C."), *same[1:])
    told = write_sheet(handmade.changed(plan, firing=other)).cooling
    assert told.startswith(
        f"Cooling: {same[0].bake} open at 600 °C; {same[1].bake} slow, muffle shut to 550 °C"
    )


def test_nothing_below_the_margin_is_drawn(plan):
    """Without the lower third of the porcelain the outlines begin where it ends."""
    local = plan.frame.to_local(plan.case.contour.surface.vertices_mm)
    veneered = local[:, 2] > 3.0
    part = above_margin(handmade.changed(plan, room=handmade.changed(plan.room, veneered=veneered)),
                        plan.green.contour)  # fmt: skip
    kept = plan.frame.to_local(part.vertices_mm)
    assert kept[:, 2].min() > 2.9
    assert kept[:, 2].max() == pytest.approx(plan.frame.to_local(plan.green.contour.vertices_mm)[:, 2].max())
    assert above_margin(plan, plan.green.contour) is plan.green.contour


def test_drawings_have_the_size_of_the_mesh(plan, sheet):
    """The green outline's box against the projected vertices; the cut across against those of its height."""
    local = plan.frame.to_local(plan.green.contour.vertices_mm)
    labial, _, across = sheet.drawings
    assert labial.size_mm == pytest.approx((np.ptp(local[:, 0]), np.ptp(local[:, 2])), abs=0.03)
    half = 0.5 * (plan.frame.height_mm + 0.02 - 0.5)  # between the higher margins, -0.5 mm, and the top
    level = np.abs(local[:, 2] - half) < 0.4
    assert across.size_mm == pytest.approx((np.ptp(local[level, 0]), np.ptp(local[level, 1])), abs=0.35)


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
    assert (bench_mm(8.92), bench_mm(0.0), bench_doubt(0.04), bench_doubt(0.16)) == (
        "8.90",
        "0.00",
        "0.1",
        "0.15",
    )
    assert minutes(45) == "45\u202fs"
    assert minutes(360) == "6\u202fmin"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert sentence("wet and cold") == "Wet and cold."
    long = (
        "Do this before that, and never the other way round, whatever the hour. " * 2
        + "(Name et al. (2014), doi)"
    )
    assert one_line(long).endswith("hour.")
