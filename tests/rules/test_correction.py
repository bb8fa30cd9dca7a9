"""When a result may be corrected, and who must agree."""

from dataclasses import replace
from decimal import Decimal

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.correction import Asked, check_asked, check_corrected, check_second, needs_second
from tests.rules import good

SOUND = Asked(
    void=False, waits=False, set_aside=False, another=False, changes=True, from_trace=False, changes_value=True
)


def test_a_sound_correction_is_asked_for():
    assert check_asked(SOUND, words="the keys were pressed in the wrong order") == []


@pytest.mark.parametrize(
    ("differs", "code"),
    [
        ({"void": True}, "specimen-void"),
        ({"waits": True}, "not-correctable"),
        ({"set_aside": True}, "not-correctable"),
        ({"another": True}, "correction-open"),
        ({"changes": False}, "nothing-corrected"),
        ({"from_trace": True}, "trace-keeps-value"),
    ],
)
def test_what_stands_against_it(differs, code):
    assert codes(check_asked(replace(SOUND, **differs), words="why")) == (code,)


def test_of_a_trace_all_but_its_value_may_be_corrected():
    assert check_asked(replace(SOUND, from_trace=True, changes_value=False), words="why") == []


def test_every_reason_is_told_at_once():
    told = check_asked(replace(SOUND, void=True, another=True, changes=False), words=" ")
    assert codes(told) == ("specimen-void", "correction-open", "nothing-corrected", "words-missing")


def test_a_result_that_waits_is_told_from_one_set_aside():
    (waits,) = check_asked(replace(SOUND, waits=True), words="why")
    (aside,) = check_asked(replace(SOUND, set_aside=True), words="why")
    assert (waits.why, aside.why) == (
        "The result waits for a decision.",
        "The result was set aside by a decision.",
    )


def test_a_corrected_reading_is_judged_by_its_value_and_its_ends_and_marked():
    facts = good.facts()
    assert codes(check_corrected(facts)) == ("corrected",)
    beyond = replace(facts.entry, peak_force_n=10 * facts.cell.capacity_n, strength=Decimal(999))
    assert "above-capacity" in codes(check_corrected(replace(facts, entry=beyond)))


@pytest.mark.parametrize(
    ("closed", "before", "after", "second"),
    [(False, False, False, False), (True, False, False, True), (False, True, False, True), (False, False, True, True)],
)
def test_a_second_person_once_the_run_is_closed_or_a_limit_is_touched(closed, before, after, second):
    assert needs_second(run_closed=closed, outside_before=before, outside_after=after) is second


@pytest.mark.parametrize(
    ("decider", "said"),
    [("Runa", "Runa asked for the correction."), ("Timo", "Timo pulled the strip."), ("Sefa", None)],
)
def test_whoever_agrees_is_somebody_else(decider, said):
    told = check_second(decider=decider, asked_by="Runa", tested_by="Timo")
    assert [answer.why for answer in told] == ([said] if said else [])
