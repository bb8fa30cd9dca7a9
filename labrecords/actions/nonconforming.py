"""Nonconforming work: opened with what it holds, taken step by step, and closed when a manager lets work resume."""

from collections.abc import Iterable
from datetime import datetime

from labrecords.models import (
    Calibration,
    Client,
    Nonconformity,
    NonconformityStep,
    Refusal,
    Report,
    ReportInQuestion,
    Study,
    StudyHold,
    User,
)
from labrecords.queries import access, lab, look_back
from labrecords.queries import nonconforming as found
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import RELEASED, WITHDRAWN

from . import locks, trail
from .numbering import next_code
from .refusals import one_act


def open_one(
    *,
    title: str,
    words: str,
    by: User,
    at: datetime,
    study: Study | None = None,
    refusal: Refusal | None = None,
    calibration: Calibration | None = None,
    holds: Iterable[Study] = (),
    reports: Iterable[Report] = (),
) -> Nonconformity:
    """Open nonconforming work. A study it is about is held too, unless it has been released or withdrawn."""
    access.demand(by, "report nonconforming work")
    with one_act("open nonconforming work", by=by, at=at, study=study, tried=f"open: {title}") as stop:
        if not words.strip():
            stop([Answer("words-missing", "What was found was not written down.")])
        made = Nonconformity.objects.create(
            code=next_code("NC", lab.day(at)),
            title=title,
            words=words,
            study=study,
            refusal=refusal,
            calibration=calibration,
            by=by,
            at=at,
        )
        touched = {one.pk: one for one in (*holds, *((study,) if study else ()))}
        held = [one for one in touched.values() if one.state not in (RELEASED, WITHDRAWN)]
        rows = [StudyHold.objects.create(nonconformity=made, study=one, at=at) for one in held]
        rows += [ReportInQuestion.objects.create(nonconformity=made, report=one, at=at) for one in reports]
        after = {"id": made.pk, "title": title, "rows": [row.pk for row in rows], "holds": [one.code for one in held]}
        after["calibration"] = calibration.certificate if calibration else None
        trail.write("nonconformity.opened", subject=_subject(made), by=by, at=at, study=study, after=after, why=words)
    return made


def _subject(made: Nonconformity) -> str:
    return f"nonconformity {made.code}"


def from_look_back(*, calibration: Calibration, words: str, by: User, at: datetime) -> Nonconformity:
    """From a calibration that found an item out: every unreleased study it touched is held, every report questioned."""
    access.demand(by, "handle nonconforming work")
    looked = look_back.since_last_good(calibration)
    item = calibration.equipment
    return open_one(
        title=f"{item.name} ({item.label}) out of tolerance as found, certificate {calibration.certificate}",
        words=words,
        by=by,
        at=at,
        calibration=calibration,
        holds=[touched.study for touched in looked.studies if touched.unreleased],
        reports=looked.reports,
    )


def add_step(
    *, nonconformity: Nonconformity, kind: str, words: str, by: User, at: datetime, client: Client | None = None
) -> NonconformityStep:
    """What it means, what was decided, that a client was told, or the cause; the last step lets work resume."""
    resumes = kind == NonconformityStep.RESUMED
    access.demand(by, "let work resume" if resumes else "handle nonconforming work")
    tried = f"{kind} of {nonconformity.code}"
    with one_act("nonconforming work", by=by, at=at, study=nonconformity.study, tried=tried) as stop:
        locks.hold(nonconformity.pk)
        if not words.strip():
            stop([Answer("words-missing", "What was decided or done was not written down.")])
        if not found.still_open().filter(pk=nonconformity.pk).exists():
            stop([Answer("state-refused", f"Work under {nonconformity.code} has been resumed.")])
        missing = [client.name for client in found.not_told(nonconformity)] if resumes else []
        if missing:
            stop([Answer("client-not-told", f"Not told yet: {', '.join(missing)}.")])
        kept = NonconformityStep.objects.create(
            nonconformity=nonconformity, kind=kind, words=words, client=client, by=by, at=at
        )
        after = {"id": kept.pk, "kind": kind, "client": client.code if client else None}
        trail.write("nonconformity.step", subject=_subject(nonconformity), by=by, at=at, after=after, why=words)
    return kept


def hold_answers(study: Study) -> list[Answer]:
    """Why a study may neither be accepted nor released, if nonconforming work holds it."""
    return [
        Answer("study-on-hold", f"{one.code} is open: {one.title}.", {"nonconformity": one.code})
        for one in found.holding(study)
    ]
