"""The laboratory itself: its name, its zone, its day."""

import zoneinfo
from datetime import date, datetime

from labrecords.models import Laboratory


def laboratory() -> Laboratory | None:
    """The one laboratory, or None before it has been set up."""
    return Laboratory.objects.first()


def zone() -> zoneinfo.ZoneInfo:
    """The laboratory's time zone: days begin and end there."""
    lab = laboratory()
    return zoneinfo.ZoneInfo(lab.time_zone if lab else "UTC")


def day(moment: datetime) -> date:
    """The calendar day of a moment, where the laboratory is."""
    return moment.astimezone(zone()).date()
