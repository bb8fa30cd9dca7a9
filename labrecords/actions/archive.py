"""The archive of a report, taken for an auditor: that it was taken, by whom and for whom, is kept."""

from datetime import datetime

from django.conf import settings
from django.db import transaction

from labrecords.models import Report, User
from labrecords.queries import access
from labrecords.reports.archive import zipped
from labrecords.rules.canonical import instant

from . import trail


@transaction.atomic(durable=True)
def take(*, report: Report, whom: str, by: User, at: datetime) -> bytes:
    """All that a report rests on, as one zip. The chain in it ends before this act."""
    access.demand(by, "take a report's records")
    packed = zipped(report, heads=_heads(), made_at=at)
    after = {"issue": report.issue, "for": whom, "made_at": instant(at)}
    trail.write(
        "report.records-taken", subject=f"report {report.number}", by=by, at=at, study=report.study, after=after
    )
    return packed


def _heads() -> str:
    file = settings.AUDIT_HEADS
    return file.read_text(encoding="ascii", errors="replace") if file.exists() else ""
