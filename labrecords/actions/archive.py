"""The archive of a report, for an auditor: that it was asked for, made and taken, by whom and for whom, is kept."""

from datetime import datetime

from django.conf import settings
from django.db import transaction

from labrecords.files.documents import sha256
from labrecords.models import Archive, ArchiveOrder, Report, User
from labrecords.queries import access, archives
from labrecords.reports.archive import zipped
from labrecords.rules.canonical import instant

from . import jobs, locks, trail

ACT = "take a report's records"


@transaction.atomic(durable=True)
def order(*, report: Report, whom: str, by: User, at: datetime) -> ArchiveOrder:
    """Ask for all that a report rests on, as one zip; it is made a little later."""
    access.demand(by, ACT)
    asked = ArchiveOrder.objects.create(report=report, whom=whom, by=by, at=at)
    _tell("report.records-asked", asked, by, at)
    jobs.put_off(jobs.MAKE_ARCHIVE, order=str(asked.pk))
    return asked


@transaction.atomic(durable=True)
def make(*, asked: ArchiveOrder, at: datetime) -> Archive:
    """Make the archive that was asked for, once. The chain in it ends before this act."""
    if found := _came_of(asked):
        return found
    packed = zipped(asked.report, heads=_heads(), made_at=at)
    made = Archive.objects.create(order=asked, size=len(packed), sha256=sha256(packed), content=packed, at=at)
    _tell("report.records-made", asked, asked.by, at, id=made.pk, made_at=instant(at), sha256=made.sha256)
    return made


@transaction.atomic(durable=True)
def give_up(*, asked: ArchiveOrder, problem: str, at: datetime) -> Archive:
    """That the archive could not be made, and why, in a sentence."""
    if found := _came_of(asked):
        return found
    kept = Archive.objects.create(order=asked, size=0, content=b"", problem=problem, at=at)
    _tell("report.records-not-made", asked, asked.by, at, id=kept.pk, problem=problem)
    return kept


@transaction.atomic(durable=True)
def take(*, asked: ArchiveOrder, by: User, at: datetime) -> Archive:
    """An archive that was made, for whoever may have it; each time it is taken is kept."""
    access.demand(by, ACT)
    made = archives.made(asked)
    _tell("report.records-taken", asked, by, at, sha256=made.sha256)
    return made


def _came_of(asked: ArchiveOrder) -> Archive | None:
    """What has come of an order already; until the transaction ends, nobody else makes anything of it."""
    locks.hold(asked.pk)
    return Archive.objects.filter(order=asked).first()


def _tell(act: str, asked: ArchiveOrder, by: User, at: datetime, **more: object) -> None:
    report = asked.report
    after = {"order": asked.pk, "issue": report.issue, "for": asked.whom} | more
    trail.write(act, subject=f"report {report.number}", by=by, at=at, study=report.study, after=after)


def _heads() -> str:
    file = settings.AUDIT_HEADS
    return file.read_text(encoding="ascii", errors="replace") if file.exists() else ""
