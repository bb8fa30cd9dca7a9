"""Links to a report for somebody without an account: given and revoked."""

import secrets
from datetime import datetime, timedelta

from django.db import transaction

from labrecords.models import LinkRevocation, Report, ReportLink, Study, User
from labrecords.queries import links
from labrecords.rules.links import SECRET_BYTES, check_link

from . import trail
from .refusals import one_act


def give(*, report: Report, whom: str, days: int, by: User, at: datetime) -> tuple[ReportLink, str]:
    """A link to one issue of a report, and its secret, which is returned once: only its hash is kept."""
    links.demand(by, report)
    tried = f"give a link to {report}"
    with one_act("give a link to a report", by=by, at=at, study=report.study, tried=tried) as stop:
        stop(check_link(whom=whom, days=days))
        secret, until = secrets.token_urlsafe(SECRET_BYTES), at + timedelta(days=days)
        link = ReportLink.objects.create(
            report=report, by=by, whom=whom, until=until, digest=links.digest(secret), at=at
        )
        after = {"id": link.pk, "issue": report.issue, "for": whom, "until": until}
        trail.write("link.given", subject=f"report {report.number}", by=by, at=at, study=report.study, after=after)
    return link, secret


@transaction.atomic(durable=True)
def revoke(*, link: ReportLink, by: User, at: datetime) -> None:
    """End a link; it opens nothing from the next request on. Ending it twice changes nothing."""
    report = links.revocable(by, link.pk).report
    Study.objects.select_for_update().get(pk=report.study_id)
    if LinkRevocation.objects.filter(link=link).exists():
        return
    kept = LinkRevocation.objects.create(link=link, by=by, at=at)
    after = {"id": kept.pk, "link": link.pk, "issue": report.issue, "for": link.whom}
    trail.write("link.revoked", subject=f"report {report.number}", by=by, at=at, study=report.study, after=after)
