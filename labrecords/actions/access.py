"""Records that a report was opened, by somebody of the client or through a link, or that a link opened nothing."""

from datetime import datetime

from django.db import transaction

from labrecords.models import LinkFailure, Opening, Report, ReportLink, User

from . import trail


def record_opening(
    *, report: Report, name: str, at: datetime, by: User | None = None, link: ReportLink | None = None
) -> None:
    """Keep who, or which link, opened what, and when. `name` is the file, or "page"."""
    with transaction.atomic():
        Opening.objects.create(report=report, name=name, by=by, link=link, at=at)
        after = {"opened": name} | ({"link": link.pk} if link else {})
        trail.write("report.opened", subject=f"report {report.number}", by=by, at=at, study=report.study, after=after)


@transaction.atomic(durable=True)
def record_failure(*, address: str, at: datetime) -> LinkFailure:
    """Keep that a link asked for from an address opened nothing; what was asked for is not kept."""
    return LinkFailure.objects.create(address=address, at=at)
