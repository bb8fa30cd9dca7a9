"""Release: a signatory signs exactly what was shown, and the report freezes."""

import hashlib
from datetime import datetime

from labrecords.models import Report, ReportFile, Signature, Study, User
from labrecords.queries import access, lab, reports
from labrecords.reports import content
from labrecords.reports.findings import findings, findings_sha256
from labrecords.rules import review as review_rules
from labrecords.rules.answers import Answer
from labrecords.rules.second_factor import Given
from labrecords.rules.study_states import STEPS, check_step

from . import heads, trail
from .nonconforming import hold_answers
from .numbering import next_code
from .refusals import Stop, one_act
from .signing import NOTHING, show, sign

MEANING = "I have read this report and authorise its release."


def release(
    *,
    study: Study,
    seen_sha256: str,
    password: str,
    by: User,
    at: datetime,
    given: Given = NOTHING,
    meaning: str = MEANING,
) -> Report:
    """Sign and freeze the report of a reviewed study. Nothing changes it afterwards."""
    access.demand(by, "release a report")
    shown = show(password=password, given=given, by=by, at=at)
    with one_act("release a report", by=by, at=at, study=study, tried=f"release {study.code}") as stop:
        kept = (
            Study.objects.select_for_update(of=("self",))
            .select_related("project__client", "setup__method_version__method", "locked_by", "predecessor")
            .get(pk=study.pk)
        )
        stop(check_step(kept.state, "release"))
        stop(hold_answers(kept))
        found = _agreed(kept, seen_sha256, by, stop)
        stop(shown.answers)  # before the report is made, which takes its time
        prior = reports.released(kept)
        number = prior.number if prior else next_code("R", lab.day(at))
        made = _made(kept, found, number, prior, meaning, by, at, stop)
        signature = sign(
            meaning=meaning,
            content_sha256=made.content_sha256,
            shown=shown,
            stop=stop,
            by=by,
            at=at,
            study=kept,
        )
        report = _keep(kept, made, number, signature, at, issue=prior.issue + 1 if prior else 1)
        kept.state = STEPS[kept.state]["release"]
        kept.save(update_fields=["state"])
        after = {
            "report": report.pk,
            "number": number,
            "issue": report.issue,
            "content_sha256": made.content_sha256,
            "files": {file.name: hashlib.sha256(file.content).hexdigest() for file in made.files},
        }
        trail.write("report.released", subject=f"report {number}", by=by, at=at, study=kept, after=after)
    heads.note_after_release(at=at)
    return report


def _agreed(study: Study, seen_sha256: str, by: User, stop: Stop) -> dict:
    """The findings, once reviewer and signer have seen these and no others."""
    review = reports.accepted_review(study)
    if review is None:
        stop([Answer("state-refused", f"{study.code} has no accepted review.")])
    stop(review_rules.check_signer(signer=by.name, testers=reports.testers(study), reviewer=review.by.name))
    found = findings(study)
    if findings_sha256(found) not in (seen_sha256,) or review.content_sha256 != seen_sha256:
        stop([Answer("content-changed", "The findings are not those that were reviewed and shown.")])
    return found


def _made(study, found, number, prior, meaning, by, at, stop: Stop) -> content.Made:
    try:
        return content.make(study, found, number=number, prior=prior, signer=by, meaning=meaning, at=at)
    except ValueError as lacking:
        stop([Answer("report-incomplete", str(lacking))])
        raise


def _keep(study: Study, made: content.Made, number: str, signature: Signature, at: datetime, *, issue: int) -> Report:
    report = Report.objects.create(
        study=study,
        number=number,
        issue=issue,
        title=study.title,
        content=made.content,
        content_sha256=made.content_sha256,
        signature=signature,
        at=at,
    )
    for file in made.files:
        ReportFile.objects.create(
            report=report,
            name=file.name,
            media_type=file.media_type,
            title=file.title,
            content=file.content,
            size=len(file.content),
            sha256=hashlib.sha256(file.content).hexdigest(),
            at=at,
        )
    return report
