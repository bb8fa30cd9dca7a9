"""Decisions on results that were kept under a deviation, by somebody who is not shown the value."""

from datetime import datetime

from labrecords.models import Deviation, DeviationDecision, Study, User
from labrecords.queries import access
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import check_act

from . import trail
from .refusals import one_act


def decide(*, deviation: Deviation, counts: bool, words: str, by: User, at: datetime) -> DeviationDecision:
    """Whether the result counts. Whoever tested it does not decide."""
    access.demand(by, "decide a deviation")
    result = deviation.result
    study = result.run.study
    tried = f"decide {deviation.code} of {result.specimen.label}"
    with one_act("decide a deviation", by=by, at=at, study=study, specimen=result.specimen, tried=tried) as stop:
        stop(check_act(Study.objects.select_for_update().get(pk=study.pk).state, "decide a deviation"))
        if not words.strip():
            stop([Answer("words-missing", "The reason was not written down.")])
        if by.pk in (result.tested_by_id, result.entered_by_id):
            stop([Answer("same-person", f"{by.name} tested or entered this result.")])
        if DeviationDecision.objects.filter(deviation=deviation).exists():
            stop([Answer("state-refused", "This deviation has been decided.")])
        kept = DeviationDecision.objects.create(deviation=deviation, counts=counts, words=words, by=by, at=at)
        after = {"id": kept.pk, "code": deviation.code, "counts": counts}
        subject = f"specimen {result.specimen.label}"
        trail.write("deviation.decided", subject=subject, by=by, at=at, study=study, after=after, why=words)
    return kept
