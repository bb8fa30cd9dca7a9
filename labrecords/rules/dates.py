"""Calendar arithmetic, as PostgreSQL does it, so that both walls agree."""

import calendar
from datetime import date


def months_after(day: date, months: int) -> date:
    """The same day of a later month, or its last day where that month is shorter.

    >>> months_after(date(2026, 8, 31), 6)
    datetime.date(2027, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
