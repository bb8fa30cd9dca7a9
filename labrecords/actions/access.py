"""Records that somebody of a client opened a report."""

from datetime import datetime

from django.db import transaction

from labrecords.models import Opening, Report, User

from . import trail


def record_opening(*, report: Report, name: str, by: User, at: datetime) -> None:
    """Keep who opened what, and when. `name` is the file, or "page"."""
    with transaction.atomic():
        Opening.objects.create(report=report, name=name, by=by, at=at)
        subject = f"report {report.number}"
        trail.write("report.opened", subject=subject, by=by, at=at, study=report.study, after={"opened": name})
