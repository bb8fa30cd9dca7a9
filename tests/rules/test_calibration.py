"""Equipment on the day of a test: in service, and in calibration through the end of its due date."""

from dataclasses import replace
from datetime import date

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.calibration import check_equipment, written

from .good import CELL, TESTER, TODAY, calibrated

YESTERDAY, TOMORROW = date(2026, 5, 19), date(2026, 5, 21)


@pytest.mark.parametrize(
    ("item", "expected"),
    [
        (CELL, ()),
        (TESTER, ()),
        (calibrated(CELL, due_on=TOMORROW), ()),
        (calibrated(CELL, due_on=TODAY), ()),
        (calibrated(CELL, due_on=YESTERDAY), ("calibration-overdue",)),
        (calibrated(CELL, passed=False), ("calibration-failed",)),
        (calibrated(CELL, passed=False, due_on=YESTERDAY), ("calibration-failed",)),
        (replace(CELL, calibration=None), ("not-calibrated",)),
        (replace(CELL, status="out of service"), ("out-of-service",)),
        (replace(CELL, status="retired"), ("out-of-service",)),
        (replace(CELL, status="retired", calibration=None), ("out-of-service", "not-calibrated")),
    ],
)
def test_equipment(item, expected):
    assert codes(check_equipment(item, on=TODAY)) == expected


def test_the_same_equipment_is_good_one_day_and_overdue_the_next():
    cell = calibrated(CELL, due_on=TODAY)
    assert check_equipment(cell, on=TODAY) == []
    [answer] = check_equipment(cell, on=TOMORROW)
    assert answer.why == "Cell 50 N (LC-000090-K) was due on 20 May 2026; the test is of 21 May 2026."
    assert answer.facts == {"item": "LC-000090-K", "on": "2026-05-21", "certificate": "C-17", "due": "2026-05-20"}


def test_dates_are_written_with_the_month_in_letters_and_no_leading_nought():
    assert written(date(2026, 11, 2)) == "2 November 2026"
