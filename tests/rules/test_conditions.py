"""What holds a result for a decision: hours of conditioning, and the room, edges included."""

from datetime import timedelta

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.conditions import check_conditions

from .good import METHOD, NOW, facts


def held(given):
    return check_conditions(given, setup=given.setup, method=given.method)


def ago(**time):
    return NOW - timedelta(**time)


@pytest.mark.parametrize(
    ("asked_h", "since", "expected"),
    [
        (40.0, ago(days=5), ()),
        (40.0, ago(hours=40), ()),
        (40.0, ago(hours=39, minutes=59, seconds=59), ("not-conditioned",)),
        (40.0, ago(hours=-1), ("not-conditioned",)),
        (40.0, None, ("not-conditioned",)),
        (0.5, ago(minutes=30), ()),
        (0.5, ago(minutes=29), ("not-conditioned",)),
        (0.0, None, ()),
        (0.0, ago(hours=0), ()),
    ],
)
def test_conditioning(asked_h, since, expected):
    given = facts(setup={"conditioning_hours": asked_h}, specimen={"conditioned_since": since})
    assert codes(held(given)) == expected


@pytest.mark.parametrize(
    ("since", "hours"),
    [
        (ago(hours=39, minutes=59, seconds=59), "39.99"),
        (ago(hours=30, minutes=30), "30.5"),
        (ago(hours=-1), "0"),
    ],
)
def test_hours_are_rounded_down_so_that_a_shortfall_shows(since, hours):
    [answer] = held(facts(specimen={"conditioned_since": since}))
    assert answer.why == f"SP-000123-N was conditioned for {hours} h; the set-up asks for 40 h."
    assert answer.facts == {"hours": hours, "wanted": "40"}


@pytest.mark.parametrize(
    ("room_c", "humidity", "expected"),
    [
        (23.0, 50.0, ()),
        (21.0, 45.0, ()),
        (25.0, 55.0, ()),
        (20.9, 50.0, ("room-outside-limits",)),
        (25.1, 50.0, ("room-outside-limits",)),
        (23.0, 44.9, ("room-outside-limits",)),
        (23.0, 55.1, ("room-outside-limits",)),
        (30.0, 80.0, ("room-outside-limits",)),
    ],
)
def test_room(room_c, humidity, expected):
    assert (METHOD.room_c, METHOD.humidity_percent) == ((21.0, 25.0), (45.0, 55.0))
    assert codes(held(facts(run={"room_c": room_c, "room_humidity_percent": humidity}))) == expected


def test_both_hold_at_once():
    given = facts(specimen={"conditioned_since": None}, run={"room_c": 30.0})
    assert codes(held(given)) == ("not-conditioned", "room-outside-limits")
