"""What may still happen to a released report: opened for another issue, or withdrawn. Its bytes never change."""

from datetime import datetime

from labrecords.models import Report, ReportAmendment, ReportWithdrawal, Study, User, ValidationDecision
from labrecords.queries import access, reports
from labrecords.rules.answers import Answer
from labrecords.rules.second_factor import Given
from labrecords.rules.study_states import STEPS, check_step

from . import heads, trail
from .refusals import one_act
from .signing import NOTHING, show, sign


def amend(*, report: Report, reason: str, by: User, at: datetime) -> ReportAmendment:
    """Open the study of a released report again for review, so that another issue may replace this one.

    Until that is released, this one holds. Results are then corrected, not entered: testing stays closed.
    """
    access.demand(by, "amend a report")
    tried = f"amend {report}"
    with one_act("amend a report", by=by, at=at, study=report.study, tried=tried) as stop:
        study = Study.objects.select_for_update().get(pk=report.study_id)
        stop(check_step(study.state, "amend the report"))
        stop(_against(report, study, reason))
        kept = ReportAmendment.objects.create(report=report, reason=reason, by=by, at=at)
        study.state = STEPS[study.state]["amend the report"]
        study.save(update_fields=["state"])
        subject, after = f"report {report.number}", {"id": kept.pk, "issue": report.issue}
        trail.write("report.amended", subject=subject, by=by, at=at, study=study, after=after, why=reason)
    return kept


def _against(report: Report, study: Study, reason: str) -> list[Answer]:
    said = []
    newest = reports.released(study)
    if newest is None or newest.pk != report.pk:
        said.append(Answer("content-changed", f"The newest issue is {newest}."))
    if ValidationDecision.objects.filter(study=study, passed=True).exists():
        said.append(Answer("already-decided", f"Authorisations rest on the validation in {study.code}."))
    if not reason.strip():
        said.append(Answer("words-missing", "The reason was not written down."))
    return said


def withdraw(
    *, report: Report, reason: str, password: str, by: User, at: datetime, given: Given = NOTHING
) -> ReportWithdrawal:
    """Say, signed, that an issue holds no longer. It stays readable, with the reason beside it."""
    access.demand(by, "withdraw a report")
    tried = f"withdraw {report}"
    shown = show(password=password, given=given, by=by, at=at)
    with one_act("withdraw a report", by=by, at=at, study=report.study, tried=tried) as stop:
        study = Study.objects.select_for_update().get(pk=report.study_id)
        if ReportWithdrawal.objects.filter(report=report).exists():
            stop([Answer("already-decided", f"{report} has been withdrawn.")])
        if not reason.strip():
            stop([Answer("words-missing", "The reason was not written down.")])
        signature = sign(
            meaning=f"withdrawal of {report}",
            content_sha256=report.content_sha256,
            shown=shown,
            stop=stop,
            by=by,
            at=at,
            study=study,
        )
        kept = ReportWithdrawal.objects.create(report=report, reason=reason, signature=signature, at=at)
        subject, after = f"report {report.number}", {"id": kept.pk, "issue": report.issue}
        trail.write("report.withdrawn", subject=subject, by=by, at=at, study=study, after=after, why=reason)
    heads.note_after_release(at=at)
    return kept
