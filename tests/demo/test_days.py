"""The demo's calendar, and whether the fixtures' moments can be, whatever day it is."""

import zoneinfo
from datetime import UTC, date, datetime, timedelta

import pytest

from labrecords.management.demo import inputs
from labrecords.management.demo.days import Days

ZONE = zoneinfo.ZoneInfo("Europe/Dublin")
CLOCK = datetime(2026, 5, 20, 9, 30, 45, tzinfo=UTC)  # a Wednesday


def test_working_days_leave_the_weekend_out():
    days = Days.on(None, clock=CLOCK, zone=ZONE)
    assert days.moment("-3 09:10") == datetime(2026, 5, 15, 9, 10, tzinfo=ZONE)  # Friday
    assert days.moment("-2 09:10") == datetime(2026, 5, 18, 9, 10, tzinfo=ZONE)  # Monday
    assert days.working_days_after(date(2026, 5, 15), 1, "10:00") == datetime(2026, 5, 18, 10, tzinfo=ZONE)
    assert days.date(-52) == date(2026, 3, 29)


def test_now_is_the_clock_today_and_the_afternoon_on_a_past_day():
    assert Days.on(None, clock=CLOCK, zone=ZONE).moment("now -40") == datetime(2026, 5, 20, 9, 50, tzinfo=ZONE)
    past = Days.on(date(2026, 5, 19), clock=CLOCK, zone=ZONE)
    assert past.moment("now -40") == datetime(2026, 5, 19, 14, 20, tzinfo=ZONE)


def test_a_day_to_come_is_refused():
    with pytest.raises(ValueError, match="still to come"):
        Days.on(date(2026, 5, 21), clock=CLOCK, zone=ZONE)


# a fortnight has every weekday twice; these two hold the change to and from summer time in Dublin in 2025
FORTNIGHTS = [date(2025, 3, 24) + timedelta(days=day) for day in range(14)] + [
    date(2025, 10, 20) + timedelta(days=day) for day in range(14)
]


@pytest.mark.parametrize("today", FORTNIGHTS, ids=str)
def test_strips_are_received_conditioned_cut_and_only_then_pulled(today):
    days = Days.on(today, clock=CLOCK, zone=ZONE)
    short = []
    for study in inputs.studies():
        lots = {row["name"]: row for row in study.get("lot", [])}
        for run in study.get("run", []):
            lot, opened = lots[run.get("lot", next(iter(lots)))], days.moment(run["opened"])
            assert days.moment(lot["received"]) < days.moment(lot["conditioned"]) < days.moment(lot["cut"]) < opened
            # differences of moments in one zone are taken as its clock reads, so first to UTC
            conditioned = opened.astimezone(UTC) - days.moment(lot["conditioned"]).astimezone(UTC)
            if conditioned < timedelta(hours=40):
                short.append((study["key"], run["lot"], run["strips"]))
    assert short == [("two lots", "K2211", [1, 1])]  # the deliberate deviation and no other


@pytest.mark.parametrize("today", FORTNIGHTS, ids=str)
def test_nothing_happens_before_the_laboratory_or_after_now(today):
    days = Days.on(today, clock=CLOCK, zone=ZONE)
    first = days.moment(inputs.laboratory()["laboratory"]["at"])
    for row in inputs.laboratory()["calibrations"]:
        assert first < days.working_days_after(days.date(row["performed"]), 2, "10:00")
    moments = [days.moment(text) for text in _moments(inputs.studies())]
    assert len(moments) > 50
    assert first < min(moments)
    assert max(moments) < days.now


def _moments(found):
    if isinstance(found, dict):
        for name, value in found.items():
            if name in ("at", "planned", "locked", "received", "conditioned", "cut", "opened", "replaced"):
                yield value
            else:
                yield from _moments(value)
    elif isinstance(found, list):
        for value in found:
            yield from _moments(value)
