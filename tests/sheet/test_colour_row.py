"""The colour row tells the doubt of the difference, and what other lights do where a spectrum was given."""

import dataclasses

import handmade
import pytest

from firstbake.files.plan_file import _colour_out
from firstbake.sheet import write_sheet


def with_body(plan, **changes):
    body = dataclasses.replace(plan.colour[1], **changes)
    return handmade.changed(plan, colour=(plan.colour[0], body, plan.colour[2]))


def test_the_doubt_on_the_sheet_and_in_the_plan_is_that_of_the_difference(plan):
    changed = with_body(plan, doubt_delta_e00=1.2, target_doubt_delta_e00=0.9)
    rows = write_sheet(changed).colour
    assert rows[1].doubt_delta_e00 == pytest.approx(1.5)
    assert rows[0].doubt_delta_e00 == plan.colour[0].doubt_delta_e00
    written = _colour_out(changed)[1]
    assert written.doubt_delta_e00 == 1.2
    assert written.target_doubt_delta_e00 == 0.9
    assert written.difference_doubt_delta_e00 == pytest.approx(1.5)


def test_a_difference_within_its_own_doubt_is_not_called_out_of_reach(plan):
    sure = with_body(plan, delta_e00=3.4, doubt_delta_e00=1.0, words="lighter")
    unsure = with_body(plan, delta_e00=3.4, doubt_delta_e00=1.0, words="lighter", target_doubt_delta_e00=2.0)
    assert "not reached" in write_sheet(sure).second
    assert "not reached" not in write_sheet(unsure).second
    assert "± 2.2" in write_sheet(unsure).second.replace("\u202f", " ")


def test_other_lights_are_told_with_a_spectrum_and_nothing_without(plan):
    told = "the match moves by 0.4 in lamp light (A) and 0.6 under tubes (F11): most eyes see none of it"
    changed = with_body(plan, metamerism={"A": 0.4, "F11": 0.6, "LED-B3": 0.5}, metamerism_words=told)
    rows = write_sheet(changed).colour
    assert rows[1].words.endswith(f" {told[0].upper()}{told[1:]}.")
    assert all("match moves" not in row.words for row in (rows[0], rows[2], *write_sheet(plan).colour))
    written = _colour_out(changed)
    assert written[1].metamerism == {"A": 0.4, "F11": 0.6, "LED-B3": 0.5}
    assert (written[0].metamerism, written[0].metamerism_words) == (None, "")
