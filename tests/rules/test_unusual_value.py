"""Values that are looked at again before they are kept, and those the reviewer is told of."""

import statistics
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.rules.answers import Kind, codes
from labrecords.rules.facts import Others
from labrecords.rules.unusual_value import check_value_seen
from labrecords.rules.wording import kind_of

from .good import ENTRY, SETUP

# median 1.47, robust standard deviation 1.482602 * 0.05 = 0.07413, by R's mad(); five of them are 0.3707
FIVE = tuple(map(Decimal, ("1.42", "1.51", "1.38", "1.47", "1.55")))
KEPT = st.lists(st.decimals("0.5", "20", places=2), min_size=5, max_size=30).map(tuple)
VALUES = st.decimals("0.01", "400", places=2)


def asked(value, strengths=FIVE, **changed):
    entry = replace(ENTRY, strength=Decimal(value), **changed)
    return check_value_seen(setup=SETUP, entry=entry, others=Others(strengths=strengths))


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("1.47", ()),
        ("1.84", ()),
        ("1.85", ("unusual-value",)),
        ("1.10", ()),
        ("1.09", ("unusual-value",)),
        ("14.7", ("factor-of-ten",)),
        ("18.4", ("factor-of-ten",)),
        ("18.5", ("unusual-value",)),
        ("0.147", ("factor-of-ten",)),
        ("0.11", ("factor-of-ten",)),
        ("0.38", ("unusual-value",)),
    ],
)
def test_far_and_ten_times(value, expected):
    assert codes(asked(value)) == expected


def test_four_say_nothing_yet():
    assert asked("14.7", FIVE[:4]) == []


def test_values_that_agree_by_chance_leave_a_quarter():
    alike = (Decimal("2.00"),) * 5
    assert asked("2.49", alike) == []
    assert codes(asked("2.51", alike)) == ("unusual-value",)


def test_the_question_says_where_the_others_lie():
    [answer] = asked("14.7")
    assert (
        answer.why == "Is 14.70 lbf/in ten times too large? The 5 kept of this group lie between 1.38 and 1.55 lbf/in."
    )
    [answer] = asked("2")
    assert answer.why == "Check 2.00 lbf/in: the 5 kept of this group lie between 1.38 and 1.55 lbf/in."
    [answer] = asked("14.7", typed="14.7 lbf/in")
    assert answer.why.startswith("Is 14.7 lbf/in ten times too large?")
    [answer] = asked("14.7", typed="65 N")
    assert answer.why.startswith("Is 14.70 lbf/in ten times too large?")


def test_a_press_answers_it_and_no_other_press_does():
    assert asked("14.7", confirmed=("factor-of-ten",)) == []
    assert codes(asked("14.7", confirmed=("odd-trace",))) == ("factor-of-ten",)


@given(VALUES, KEPT)
def test_at_most_one_question_and_never_a_refusal(value, strengths):
    found = asked(value, strengths)
    assert len(found) <= 1
    assert all(kind_of(answer.code) is Kind.CHECK for answer in found)


@given(KEPT, VALUES, st.decimals("1", "10", places=1))
def test_further_away_asks_too_and_the_median_does_not(strengths, value, times):
    median = statistics.median(strengths)
    further = median + (value - median) * times
    assert asked(median, strengths) == []
    assert not asked(value, strengths) or further < 0 or asked(further, strengths)


@given(VALUES, KEPT, st.randoms(use_true_random=False))
def test_the_order_of_the_others_changes_nothing(value, strengths, random):
    shuffled = list(strengths)
    random.shuffle(shuffled)
    assert codes(asked(value, strengths)) == codes(asked(value, tuple(shuffled)))


@given(KEPT, st.sampled_from([Decimal(1), Decimal("4.4"), Decimal(100)]), VALUES)
def test_the_unit_changes_nothing(strengths, factor, value):
    scaled = tuple(kept * factor for kept in strengths)
    near_an_edge = codes(asked(value * Decimal("0.999"), strengths)) != codes(
        asked(value * Decimal("1.001"), strengths)
    )
    assert near_an_edge or codes(asked(value, strengths)) == codes(asked(value * factor, scaled))


@pytest.mark.parametrize(
    ("before", "typed", "expected"),
    [
        (("1.52 lbf/in", "1.52 lbf/in"), "1.52 lbf/in", ("same-value-again",)),
        (("1.52 lbf/in",), "1.52 lbf/in", ()),
        (("1.52 lbf/in", "1.53 lbf/in"), "1.52 lbf/in", ()),
        (("1.52 lbf/in", "1.52 lbf/in"), "1.52 N", ()),
        (("1.52 lbf/in", "1.52 lbf/in"), None, ()),
    ],
)
def test_the_third_time_running_is_a_note(before, typed, expected):
    found = check_value_seen(setup=SETUP, entry=replace(ENTRY, typed=typed), others=Others(typed_before=before))
    assert codes(found) == expected
    assert all(kind_of(code) is Kind.NOTE for code in expected)
