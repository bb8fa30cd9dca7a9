"""The laboratory itself: its name, its zone, its day."""

import contextlib
import zoneinfo
from collections.abc import Iterator
from contextvars import ContextVar
from datetime import date, datetime

from labrecords.models import Laboratory

# One place for a laboratory that has been read; None where nothing is remembered.
_READ: ContextVar[list[Laboratory] | None] = ContextVar("laboratory", default=None)


@contextlib.contextmanager
def asked_once() -> Iterator[None]:
    """Within the block the laboratory is read from the database once: a request or an act keeps to what it found."""
    before = _READ.set([] if (read := _READ.get()) is None else read)
    try:
        yield
    finally:
        _READ.reset(before)


def laboratory() -> Laboratory | None:
    """The one laboratory, or None before it has been set up."""
    read = _READ.get()
    if read:
        return read[0]
    found = Laboratory.objects.first()
    if read is not None and found is not None:
        read.append(found)
    return found


def zone() -> zoneinfo.ZoneInfo:
    """The laboratory's time zone: days begin and end there."""
    lab = laboratory()
    return zoneinfo.ZoneInfo(lab.time_zone if lab else "UTC")


def day(moment: datetime) -> date:
    """The calendar day of a moment, where the laboratory is."""
    return moment.astimezone(zone()).date()
