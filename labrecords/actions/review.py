"""Testing finished, reviewed by a second person, returned or accepted."""

from datetime import datetime

from labrecords.models import Review, Study, User, ValidationDecision
from labrecords.queries import access, corrections, numbers, reports
from labrecords.reports.findings import findings, findings_sha256
from labrecords.rules import review as review_rules
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import STEPS, check_step

from . import trail
from .nonconforming import hold_answers
from .refusals import one_act


def finish_testing(*, study: Study, by: User, at: datetime, why_fewer: str = "") -> Study:
    """Close the bench for this study and put it before a reviewer. Open runs are closed first.

    Where fewer specimens have a result than were planned, the report says why, so somebody must.
    """
    access.demand(by, "finish testing")
    with one_act("finish testing", by=by, at=at, study=study, tried=f"finish {study.code}") as stop:
        kept = Study.objects.select_for_update().get(pk=study.pk)
        stop(check_step(kept.state, "finish testing"))
        if kept.runs.filter(closed_at__isnull=True).exists():
            stop([Answer("runs-open", "Some runs are still open.")])
        missing = numbers.missing(kept)
        if missing and not why_fewer.strip():
            have = "specimen has" if missing == 1 else "specimens have"
            said = f"{missing} planned {have} no result, and why was not written down."
            stop([Answer("words-missing", said, {"missing": str(missing)})])
        kept.fewer_reason = why_fewer.strip() if missing else ""
        _step(kept, "finish testing")
        trail.write("study.finished", subject=f"study {kept.code}", by=by, at=at, study=kept, why=kept.fewer_reason)
    return kept


def review(*, study: Study, accept: bool, words: str, seen_sha256: str, by: User, at: datetime) -> Review:
    """Accept or return a study, as it was seen: when its findings have changed since, nothing happens."""
    access.demand(by, "review a study")
    step = "accept" if accept else "return"
    with one_act("review a study", by=by, at=at, study=study, tried=f"{step} {study.code}") as stop:
        kept = Study.objects.select_for_update().get(pk=study.pk)
        stop(check_step(kept.state, step))
        stop([*hold_answers(kept), *_waiting_corrections(kept)] if accept else _decided_answers(kept))
        waiting = reports.open_decisions(kept) if accept else 0
        testers = reports.testers(kept)
        stop(review_rules.check_reviewer(reviewer=by.name, testers=testers, open_decisions=waiting))
        if not words.strip():
            stop([Answer("words-missing", "What was checked, or what must be mended, was not written down.")])
        found = findings_sha256(findings(kept))
        if found != seen_sha256:
            stop([Answer("content-changed", "The findings are not those that were shown.")])
        made = Review.objects.create(study=kept, accepted=accept, words=words, content_sha256=found, by=by, at=at)
        _step(kept, step)
        after = {"review": made.pk, "accepted": accept, "content_sha256": found}
        trail.write("study.reviewed", subject=f"study {kept.code}", by=by, at=at, study=kept, after=after, why=words)
    return made


def _waiting_corrections(study: Study) -> list[Answer]:
    waiting = corrections.waiting(study)
    return [Answer("correction-open", f"That of {one.result.specimen.label} waits.") for one in waiting]


def _decided_answers(study: Study) -> list[Answer]:
    """Authorisations rest on a decided validation, so its results are not opened again."""
    if ValidationDecision.objects.filter(study=study).exists():
        return [Answer("already-decided", f"The validation in {study.code} has been decided.")]
    return []


def _step(study: Study, step: str) -> None:
    study.state = STEPS[study.state][step]
    study.save(update_fields=["state", "fewer_reason"])
