"""Times that can be, to the second, and the same slack for clocks as in the database."""

import re
from datetime import timedelta
from pathlib import Path

import pytest

import labrecords
from labrecords.rules.answers import codes
from labrecords.rules.times import CLOCK_SLACK, check_conditioning, check_times

from .good import NOW, facts

SECOND, MINUTE, HOUR, DAY = (timedelta(**{unit: 1}) for unit in ("seconds", "minutes", "hours", "days"))


@pytest.mark.parametrize(
    ("tested", "received", "opened", "expected"),
    [
        (NOW, NOW - DAY, NOW - HOUR, ()),
        (NOW, NOW, NOW, ()),
        (NOW + MINUTE, NOW, NOW, ()),
        (NOW + MINUTE + SECOND, NOW, NOW, ("in-the-future",)),
        (NOW - SECOND, NOW, NOW - HOUR, ("before-receipt",)),
        (NOW - HOUR, NOW - HOUR, NOW - HOUR + SECOND, ("before-run",)),
        (NOW - HOUR, NOW, NOW, ("before-receipt", "before-run")),
        (NOW + DAY, NOW + 2 * DAY, NOW + 2 * DAY, ("in-the-future", "before-receipt", "before-run")),
    ],
)
def test_times(tested, received, opened, expected):
    given = facts(entry={"tested_at": tested}, specimen={"received_at": received}, run={"opened_at": opened})
    assert codes(check_times(given)) == expected


def test_times_are_written_like_dates_elsewhere():
    [answer] = check_times(facts(specimen={"received_at": NOW.replace(month=6, day=3)}))
    assert answer.why == "SP-000123-N was received on 3 June 2026, 09:00, after the time of test."


def test_the_database_allows_clocks_the_same_slack():
    sql = (Path(labrecords.__file__).parent / "migrations" / "sql" / "gate.sql").read_text()
    assert re.findall(r"clock_timestamp\(\) \+ interval '(\d+) minute'", sql) == ["1"]
    assert timedelta(minutes=1) == CLOCK_SLACK


@pytest.mark.parametrize(
    ("shift", "expected"),
    [
        (timedelta(0), ()),
        (timedelta(days=-7), ()),
        (timedelta(days=-7, seconds=-1), ("before-receipt",)),
        (CLOCK_SLACK, ()),
        (CLOCK_SLACK + timedelta(seconds=1), ("in-the-future",)),
    ],
)
def test_conditioning_begins_after_receipt_and_before_now(shift, expected):
    received = NOW - timedelta(days=7)
    assert codes(check_conditioning(started_at=NOW + shift, received_at=received, now=NOW)) == expected
