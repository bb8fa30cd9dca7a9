"""The demo's calendar: everything happens so many days before the day on which it is made."""

import zoneinfo
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

SATURDAY = 5
AFTERNOON = time(15, 0)


@dataclass(frozen=True)
class Days:
    """A day of the demo, in the laboratory's zone, and the moment on it at which the demo is made."""

    today: date
    now: datetime
    zone: zoneinfo.ZoneInfo

    @classmethod
    def on(cls, today: date | None, *, clock: datetime, zone: zoneinfo.ZoneInfo) -> "Days":
        """The calendar around a day, the clock's own if none is named. Raises ValueError for a day to come."""
        now = clock.astimezone(zone).replace(second=0, microsecond=0)
        if today is None or today == now.date():
            return cls(now.date(), now, zone)
        if today > now.date():
            raise ValueError(
                f"{today} is still to come, and no record is made before its time. Name {now.date()} or a day before."
            )
        return cls(today, datetime.combine(today, AFTERNOON, zone), zone)

    def date(self, offset: int) -> date:
        """A calendar day, so many days from today."""
        return self.today + timedelta(days=offset)

    def moment(self, text: str) -> datetime:
        """A moment as the fixtures write it: "-30 09:10" counts working days, "now -40" minutes.

        >>> from datetime import UTC
        >>> days = Days(date(2026, 5, 20), datetime(2026, 5, 20, 12, 0, tzinfo=UTC), zoneinfo.ZoneInfo("UTC"))
        >>> str(days.moment("-3 09:10")), str(days.moment("now -40"))
        ('2026-05-15 09:10:00+00:00', '2026-05-20 11:20:00+00:00')
        """
        first, _, second = text.partition(" ")
        if first == "now":
            return self.now + timedelta(minutes=int(second))
        return datetime.combine(self._worked(self.today, int(first)), time.fromisoformat(second), self.zone)

    def working_days_after(self, day: date, count: int, at: str) -> datetime:
        """A moment so many working days after a day."""
        return datetime.combine(self._worked(day, count), time.fromisoformat(at), self.zone)

    def _worked(self, day: date, count: int) -> date:
        step = timedelta(days=1 if count > 0 else -1)
        for _ in range(abs(count)):
            day += step
            while day.weekday() >= SATURDAY:
                day += step
        return day
