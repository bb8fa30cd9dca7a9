"""How days and moments read in a report."""

from datetime import date, datetime
from zoneinfo import ZoneInfo


def written_day(moment: datetime, zone: ZoneInfo) -> str:
    """A day with its month in letters, where the laboratory is.

    >>> from datetime import UTC
    >>> written_day(datetime(2026, 11, 25, 9, 5, tzinfo=UTC), ZoneInfo("Europe/Dublin"))
    '25 Nov 2026'
    """
    return written_date(moment.astimezone(zone).date())


def written_date(day: date) -> str:
    """A calendar day with its month in letters."""
    return f"{day.day} {day:%b %Y}"


def written_time(moment: datetime, zone: ZoneInfo) -> str:
    """A moment to the minute, with the zone it is told in.

    >>> from datetime import UTC
    >>> written_time(datetime(2026, 11, 25, 9, 5, tzinfo=UTC), ZoneInfo("Europe/Dublin"))
    '25 Nov 2026, 09:05 GMT'
    """
    local = moment.astimezone(zone)
    return f"{written_day(moment, zone)}, {local:%H:%M} {local:%Z}"
