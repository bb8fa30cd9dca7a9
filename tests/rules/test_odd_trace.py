"""Traces that get a second look."""

from dataclasses import replace

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.odd_trace import TRAVEL_PER_SEAL, check_trace

from .good import ENTRY, SETUP, traced

# Grip travel per width of seal: about once with a free or hand-held tail, about twice with the tail folded back
# over a rigid plate. common practice, no source
TRAVELS = [
    ("A", 10.0, ()),
    ("A", 5.0, ()),
    ("A", 30.0, ()),
    ("A", 4.9, ("odd-trace",)),
    ("A", 30.1, ("odd-trace",)),
    ("B", 5.0, ()),
    ("B", 30.1, ("odd-trace",)),
    ("C", 20.0, ()),
    ("C", 10.0, ()),
    ("C", 50.0, ()),
    ("C", 9.9, ("odd-trace",)),
    ("C", 50.1, ("odd-trace",)),
]


@pytest.mark.parametrize(("technique", "travel_mm", "expected"), TRAVELS)
def test_travel_fits_a_seal_of_ten_millimetres(technique, travel_mm, expected):
    setup = replace(SETUP, technique=technique)
    assert codes(check_trace(setup=setup, entry=traced(peel_travel_mm=travel_mm))) == expected


def test_every_technique_in_words_has_its_travel():
    from labrecords.rules.series import TECHNIQUE_WORDS

    assert set(TRAVEL_PER_SEAL) == set(TECHNIQUE_WORDS)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"start_open": True}, "Look at this trace: it starts under load."),
        ({"end_open": True}, "Look at this trace: it does not come back to rest."),
        (
            {"peel_travel_mm": 2.0},
            "Look at this trace: the grip travelled 2.0 mm while a 10 mm seal opened.",
        ),
        (
            {"start_open": True, "end_open": True, "peel_travel_mm": 99.0},
            "Look at this trace: it starts under load; it does not come back to rest; "
            "the grip travelled 99.0 mm while a 10 mm seal opened.",
        ),
    ],
)
def test_all_that_is_odd_is_one_question(changed, words):
    [answer] = check_trace(setup=SETUP, entry=traced(**changed))
    assert (answer.code, answer.why) == ("odd-trace", words)


def test_a_press_answers_it():
    odd = traced(end_open=True)
    assert codes(check_trace(setup=SETUP, entry=replace(odd, confirmed=("odd-trace",)))) == ()
    assert codes(check_trace(setup=SETUP, entry=replace(odd, confirmed=("something-else",)))) == ("odd-trace",)


def test_no_trace_no_question():
    assert check_trace(setup=SETUP, entry=ENTRY) == []


@pytest.mark.parametrize(("fall", "expected"), [(0.0, ()), (0.349, ()), (0.35, ("odd-trace",)), (0.8, ("odd-trace",))])
def test_a_sudden_fall_within_the_peel_is_looked_at(fall, expected):
    assert codes(check_trace(setup=SETUP, entry=traced(deepest_fall=fall))) == expected


@pytest.mark.parametrize(("steps", "words"), [(1, "by 1 small step,"), (3, "by 3 small steps,")])
def test_a_trace_that_was_put_in_order_is_looked_at(steps, words):
    [answer] = check_trace(setup=SETUP, entry=traced(put_in_order=steps))
    assert answer.code == "odd-trace"
    assert words in answer.why
    assert check_trace(setup=SETUP, entry=traced(put_in_order=0)) == []
