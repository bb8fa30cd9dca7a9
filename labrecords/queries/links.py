"""Links to reports: the one behind an address, those that were given, and who may give and end them."""

import hashlib
import uuid
from datetime import datetime, timedelta

from django.db.models import Count, Max, Q, QuerySet

from labrecords.models import LinkFailure, Report, ReportLink, Study, User
from labrecords.rules.guessing import link_wait_s
from labrecords.rules.links import may_revoke

from . import access

HOUR = timedelta(hours=1)


def digest(secret: str) -> str:
    """What is kept of a secret."""
    return hashlib.sha256(secret.encode(errors="surrogatepass")).hexdigest()


def open_with(digest: str, now: datetime) -> ReportLink | None:
    """The link of that digest with its report, if it holds; None reads the same for all others."""
    found = ReportLink.objects.select_related("report__study__project", "by__client")
    return found.filter(digest=digest, until__gt=now, revocation=None).first()


def newest_issue(report: Report) -> int:
    """The number of the newest issue of a report; asked before the role changes, which is shown one issue only."""
    return Report.objects.filter(number=report.number).order_by("-issue").values_list("issue", flat=True)[0]


def wait_before(address: str, now: datetime) -> int:
    """Seconds before a link is looked at that is asked for from this address."""
    failed = LinkFailure.objects.filter(address=address, at__gt=now - HOUR)
    last = failed.order_by("-at", "-pk").values_list("at", flat=True).first()
    return link_wait_s(failed.count(), (now - last).total_seconds() if last else 0.0)


def of_report(report: Report, person: User, now: datetime) -> list[ReportLink]:
    """Every link given to one issue, as `_listed` says."""
    return _listed(ReportLink.objects.filter(report=report), person, now)


def of_study(study: Study, person: User, now: datetime) -> list[ReportLink]:
    """Every link given to any issue of a study's report, as `_listed` says."""
    return _listed(ReportLink.objects.filter(report__study=study), person, now)


def _listed(found: QuerySet[ReportLink], person: User, now: datetime) -> list[ReportLink]:
    """Links, the newest first, each with `opened`, `last_opened`, `holds` and `revocable` (by the person)."""
    counted = found.select_related("report", "by__client", "revocation__by").annotate(
        opened=Count("openings", filter=Q(openings__name="page")), last_opened=Max("openings__at")
    )
    rows = list(counted.order_by("-at", "-id"))
    for link in rows:
        link.holds = link.until > now and not hasattr(link, "revocation")
        link.revocable = link.holds and _may_revoke(person, link)
    return rows


def _may_revoke(person: User, link: ReportLink) -> bool:
    own = access.may(person, "give a link to an own report") and link.by.client_id == person.client_id
    return may_revoke(of_laboratory=access.may(person, "give a link to a report"), same_company=own)


def revocable(person: User, link_id: uuid.UUID) -> ReportLink:
    """A link that the person may end. Raises access.NotFound for any other."""
    found = ReportLink.objects.select_related("report__study", "by").filter(pk=link_id).first()
    if found is None or not _may_revoke(person, found):
        raise access.NotFound("link")
    return found


def demand(person: User, report: Report) -> None:
    """Raise unless the person may give a link to the report: of the laboratory, or to one of their own company."""
    if not access.may(person, "give a link to a report"):
        access.demand(person, "give a link to an own report")
        access.own_report(person, report.number, report.issue)
