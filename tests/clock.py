"""The server's clock, for a test to set and to move."""

from datetime import datetime, timedelta

from labrecords import web


class Clock:
    """Says one moment until it is moved."""

    def __init__(self, now: datetime):
        self.now = now

    def forward(self, **much) -> None:
        """On by so many days, hours, minutes or seconds."""
        self.now += timedelta(**much)


def stopped(monkeypatch, moment: datetime) -> Clock:
    """The clock of every page and of the interface, until the test ends; it reads `moment`."""
    clock = Clock(moment)
    monkeypatch.setattr(web, "CLOCK", lambda: clock.now)
    return clock
