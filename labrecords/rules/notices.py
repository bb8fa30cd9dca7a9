"""When somebody is told of what falls due: few times, on working days, and nothing lost over a weekend."""

from datetime import date, timedelta

# Days before a due date on which its notice goes out. common practice, no source
NOTICE_DAYS = (60, 30, 14, 7, 1, 0)
TO_MANAGER_AFTER = 3  # days overdue
SATURDAY = 5
MONDAY = 0


def is_working(day: date) -> bool:
    """Whether a day is from Monday to Friday.

    >>> is_working(date(2026, 11, 28))
    False
    """
    return day.weekday() < SATURDAY


def since_last(day: date) -> int:
    """Days since the working day before a working day: 3 on a Monday."""
    before = day - timedelta(days=1)
    while not is_working(before):
        before -= timedelta(days=1)
    return (day - before).days


def is_told(due_on: date, *, on: date) -> bool:
    """Whether a notice of something due goes out on a day: on its notice days, and each working day once overdue.

    A notice day that falls on a weekend is told on the next working day.

    >>> is_told(date(2026, 12, 9), on=date(2026, 11, 25)), is_told(date(2026, 12, 12), on=date(2026, 11, 30))
    (True, True)
    """
    if not is_working(on):
        return False
    left = (due_on - on).days
    if left < 0:
        return True
    return any(left <= notice < left + since_last(on) for notice in NOTICE_DAYS)


def says_all_in_date(on: date) -> bool:
    """Whether a digest with nothing in it goes out all the same: on Mondays, so that silence means something."""
    return on.weekday() == MONDAY
