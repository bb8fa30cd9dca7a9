"""Archives of a report's records: what was asked for, and what came of it."""

from datetime import datetime, timedelta

from django.db.models import QuerySet

from labrecords.models import Archive, ArchiveOrder, Report

from .access import NotFound

LONG = timedelta(minutes=1)  # after this, whoever waits is told that nobody may be working


def orders(report: Report) -> QuerySet[ArchiveOrder]:
    """What was asked for of an issue, newest first, without the bytes of what was made."""
    found = ArchiveOrder.objects.filter(report=report).select_related("by", "archive")
    return found.defer("archive__content")


def one(order_id) -> ArchiveOrder:
    """An order by its key."""
    found = ArchiveOrder.objects.select_related("report__study", "by").filter(pk=order_id).first()
    if found is None:
        raise NotFound(str(order_id))
    return found


def made(asked: ArchiveOrder) -> Archive:
    """The archive that an order led to, with its bytes."""
    found = Archive.objects.filter(order=asked, problem="").first()
    if found is None:
        raise NotFound(str(asked.pk))
    return found


def waits(asked: ArchiveOrder) -> bool:
    """Whether nothing has come of an order yet."""
    return not hasattr(asked, "archive")


def waits_long(asked: ArchiveOrder, now: datetime) -> bool:
    """Whether nothing has come of an order for so long that the worker may be stopped."""
    return waits(asked) and now - asked.at > LONG
