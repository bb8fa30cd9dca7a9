"""What somebody of a client reads: released reports and their files, in a role that can read nothing else."""

import contextlib
import uuid
from collections.abc import Iterator

from django.db import connection, transaction

from labrecords.database.roles import PORTAL
from labrecords.models import Report, ReportFile, ReportLink, ReportWithdrawal, User

from . import access


@contextlib.contextmanager
def as_portal(client: uuid.UUID | None, *, link: ReportLink | None = None) -> Iterator[None]:
    """One transaction in the portal's role, to which the laboratory's results, traces and trail are closed.

    Of reports and what leads to them the database shows it the client's own rows, and none where no client is said.
    With a link it shows the one issue to which the link was given, and nothing else of the client.
    Read the session, the person and the person's roles before: they are closed to it too. What is written inside
    is kept when the block ends well. Raises RuntimeError inside another transaction.
    """
    with transaction.atomic(durable=True):
        _say(client=client, **_narrowed(link))
        _become(PORTAL)
        yield
        _become("NONE")


def _narrowed(link: ReportLink | None) -> dict[str, uuid.UUID | None]:
    if link is None:
        return dict.fromkeys(("link", "report", "study", "project"))
    report = link.report
    return {
        "link": link.pk,
        "report": report.pk,
        "study": report.study_id,
        "project": report.study.project_id,
    }


def _say(**said: uuid.UUID | None) -> None:
    """For this transaction only: a setting of the session would be the next reader's too."""
    with connection.cursor() as cursor:
        for name, value in said.items():
            cursor.execute("SELECT set_config(%s, %s, true)", [f"labrecords.{name}", str(value or "")])


def _become(role: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SET LOCAL ROLE {role}")


def listed(person: User) -> list[Report]:
    """Every released report of the person's company, newest first; each says by which issue it was replaced, if any.

    Reports carry `replaced_by`: the number of the newest issue, or None for the one that holds.
    """
    reports = list(access.own_reports(person).select_related("withdrawal").defer("content"))
    newest = _newest(reports)
    for report in reports:
        report.replaced_by = newest[report.number] if newest[report.number] > report.issue else None
    return reports


def _newest(reports: list[Report]) -> dict[str, int]:
    newest: dict[str, int] = {}
    for report in reports:
        newest[report.number] = max(report.issue, newest.get(report.number, 0))
    return newest


def issues(person: User, number: str) -> list[int]:
    """The issues of a report of the person's company, newest first. Raises access.NotFound if there is none."""
    found = list(access.own_reports(person).filter(number=number).order_by("-issue").values_list("issue", flat=True))
    if not found:
        raise access.NotFound(number)
    return found


def linked(link: ReportLink) -> Report:
    """The one issue that is read by a link. Raises access.NotFound."""
    found = Report.objects.select_related("study__project__client", "signature").filter(pk=link.report_id).first()
    if found is None:
        raise access.NotFound("link")
    return found


def withdrawal(report: Report) -> ReportWithdrawal | None:
    """That an issue holds no longer, if so."""
    return ReportWithdrawal.objects.filter(report=report).first()


def files(report: Report) -> list[ReportFile]:
    """The files of a report, without their bytes."""
    return list(report.files.defer("content"))


def file(report: Report, name: str) -> ReportFile:
    """One file of a report with its bytes. Raises access.NotFound."""
    found = report.files.filter(name=name).first()
    if found is None:
        raise access.NotFound(name)
    return found


def file_bytes(report: Report) -> Iterator[tuple[str, bytes]]:
    """Name and bytes of every file of a report, in order of name, one at a time."""
    for name in report.files.values_list("name", flat=True):
        yield name, bytes(file(report, name).content)
