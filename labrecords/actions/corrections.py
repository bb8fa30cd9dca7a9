"""Corrections: asked for with a reason, agreed to by a second person, made as the next revision of the result."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from labrecords.models import (
    Correction,
    CorrectionDecision,
    DeviationDecision,
    Result,
    Specimen,
    Study,
    Trace,
    User,
    Void,
)
from labrecords.queries import access, corrections, lab, values, verdicts
from labrecords.queries import facts as gathered
from labrecords.rules import correction as rules
from labrecords.rules import facts, wording
from labrecords.rules.answers import Answer, Kind, codes
from labrecords.rules.study_states import check_act

from . import equipment, locks, trail
from .measured import Measured, measure
from .refusals import Stop, one_act
from .results import Reading

KEPT_MARKS = ("not-as-drawn",)  # of how the strip was pulled, which no correction touches


def ask(
    *,
    specimen: Specimen,
    reason: str,
    words: str,
    typed: str = "",
    unit: str = "",
    modes: Sequence[str] = (),
    opened: bool = False,
    remark: str = "",
    by: User,
    at: datetime,
) -> Correction:
    """Ask for a correction. It is made at once in an open run; once the run is closed, or where a value outside a
    limit is touched, it waits until a second person agrees.
    """
    access.demand(by, "correct a result")
    tried = f"correct the result of {specimen.label}"
    study = specimen.study
    with one_act("correct a result", by=by, at=at, study=study, specimen=specimen, tried=tried) as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        stop(check_act(study.state, "correct a result"))
        old = corrections.latest(specimen)
        stop(rules.check_asked(_asked(old, typed, unit, modes, opened, remark), words=words))
        kept = Correction.objects.create(
            result=old,
            reason=reason,
            words=words,
            typed=typed,
            unit=unit,
            modes=list(modes),
            opened=opened,
            remark=remark,
            by=by,
            at=at,
        )
        after = {"id": kept.pk, "reason": reason} | _written(kept)
        _event("correction.asked", kept, by=by, at=at, before=_stood(old), after=after, why=words)
        measured, answers = _read(kept, stop)
        if not _needs_second(old, measured, answers):
            _make(kept, measured, answers, by=by, at=at)
    return kept


def decide(*, correction: Correction, agreed: bool, words: str, by: User, at: datetime) -> CorrectionDecision:
    """A second person agrees, and the correction is made; or does not, and everything stays."""
    access.demand(by, "agree to a correction")
    study = correction.result.run.study
    tried = f"decide on the correction of {correction.result.specimen.label}"
    with one_act("decide a correction", by=by, at=at, study=study, tried=tried) as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        locks.hold(correction.pk)
        stop(check_act(study.state, "correct a result"))
        correction = corrections.one(correction.pk)
        if not corrections.waiting().filter(pk=correction.pk).exists():
            stop([Answer("already-decided", "This correction has been decided, or was made at once.")])
        stop(
            rules.check_second(decider=by.name, asked_by=correction.by.name, tested_by=correction.result.tested_by.name)
        )
        if not words.strip():
            stop([Answer("words-missing", "What was looked at was not written down.")])
        if agreed:
            stop(_still(correction))
        kept = CorrectionDecision.objects.create(correction=correction, agreed=agreed, words=words, by=by, at=at)
        after = {"id": kept.pk, "agreed": agreed}
        _event("correction.decided", correction, by=by, at=at, after=after, why=words)
        if agreed:
            measured, answers = _read(correction, stop)
            _make(correction, measured, answers, by=by, at=at)
    return kept


def _asked(old: Result, typed: str, unit: str, modes: Sequence[str], opened: bool, remark: str) -> rules.Asked:
    value = (typed.strip().replace(",", "."), unit if typed.strip() else "", opened)
    stood = (old.recorded, old.recorded_unit, "opened-before-test" in old.marks)
    from_trace = old.source == "trace"
    changes_value = bool(typed.strip()) or opened if from_trace else value != stood
    decided = DeviationDecision.objects.filter(deviation__result__specimen=old.specimen, counts=False)
    return rules.Asked(
        void=Void.objects.filter(specimen=old.specimen).exists(),
        waits=values.waits(old),
        set_aside=decided.exists(),
        another=corrections.waiting().filter(result__specimen=old.specimen).exists(),
        changes=changes_value or list(modes) != old.modes or remark != old.remark,
        from_trace=from_trace,
        changes_value=changes_value,
    )


def _still(correction: Correction) -> list[Answer]:
    """Against agreeing to what was asked of a version that no longer stands, or of a specimen made void since."""
    specimen = correction.result.specimen
    if corrections.latest(specimen).pk != correction.result_id:
        return [Answer("content-changed", f"The result of {specimen.label} is no longer the one to be corrected.")]
    if Void.objects.filter(specimen=specimen).exists():
        return [Answer("specimen-void", f"{specimen.label} is void.")]
    return []


def _read(correction: Correction, stop: Stop) -> tuple[Measured, Sequence[Answer]]:
    """The corrected reading as the gate reads it; what the gate refuses is refused here."""
    old = corrections.latest(correction.result.specimen)
    reading = _reading(correction, old)
    measured = _of_trace(old) if old.source == "trace" else measure(reading, old.run.study, used_by=lambda *_: None)
    stop(measured.answers)
    entry = facts.Entry(
        technique=old.technique,
        rate=facts.Rate(old.rate, old.rate_unit),
        width_mm=old.width_mm,
        modes=reading.modes,
        opened=reading.opened,
        unit=reading.unit or None,
        peak_force_n=measured.peak_force_n,
        typed_force_n=measured.typed_force_n,
        tested_at=old.tested_at,
        tested_on=lab.day(old.tested_at),
        tested_by=old.tested_by.name,
    )
    told = gathered.for_entry(run=old.run, specimen=old.specimen, entry=entry, now=correction.at)
    answers = rules.check_corrected(told)
    stop(answers)
    return measured, answers


def _reading(correction: Correction, old: Result) -> Reading:
    return Reading(
        technique=old.technique,
        rate=old.rate,
        rate_unit=old.rate_unit,
        width_mm=old.width_mm,
        tested_at=old.tested_at,
        modes=tuple(correction.modes),
        opened=correction.opened,
        typed=correction.typed,
        unit=correction.unit if correction.typed else "",
    )


def _of_trace(old: Result) -> Measured:
    """The numbers that the trace gave, as they were kept; only their ends and average are judged anew."""
    trace = Trace.objects.get(result__specimen=old.specimen)
    return Measured(
        source="trace",
        unit=old.run.study.setup.unit,
        width_mm=float(old.width_mm),
        recorded=old.recorded,
        recorded_unit=old.recorded_unit,
        peak_force_n=old.peak_force_n,
        strength=old.strength,
        mean_force_n=trace.reduction["mean_force_n"],
    )


def _needs_second(old: Result, measured: Measured, answers: Sequence[Answer]) -> bool:
    new = Result(**measured.columns(answers))
    held = values.limits(old.run.study)
    before, after = (any(verdicts.outside(result, limit.side, value) for limit, value in held) for result in (old, new))
    return rules.needs_second(run_closed=old.run.closed_at is not None, outside_before=before, outside_after=after)


def _make(correction: Correction, measured: Measured, answers: Sequence[Answer], *, by: User, at: datetime) -> Result:
    """The next revision. How the strip was pulled, by whom and when stays as it was."""
    old = corrections.latest(correction.result.specimen)
    marks = [*codes(wording.only(Kind.MARK, answers)), *(mark for mark in old.marks if mark in KEPT_MARKS)]
    made = Result.objects.create(
        specimen=old.specimen,
        revision=old.revision + 1,
        supersedes=old,
        correction=correction,
        run=old.run,
        technique=old.technique,
        rate=old.rate,
        rate_unit=old.rate_unit,
        width_mm=old.width_mm,
        modes=correction.modes,
        marks=marks,
        remark=correction.remark,
        tested_at=old.tested_at,
        tested_by=old.tested_by,
        entered_by=correction.by,
        at=at,
        **measured.columns(answers),
    )
    _stop_overloaded(old, answers, by=by, at=at)
    # a corrected result is kept as any other is
    _event("result.kept", correction, by=by, at=at, before=_stood(old), after={"id": made.pk} | _stood(made))
    return made


def _stop_overloaded(old: Result, answers: Sequence[Answer], *, by: User, at: datetime) -> None:
    for answer in answers:
        if answer.code == "above-capacity":
            item = old.run.tester if old.run.tester.label == answer.facts["item"] else old.run.cell
            reason = f"{old.specimen.label} gave more than it can measure, by a correction. Check before further use."
            equipment.stop_at_once(equipment=item, reason=reason, by=by, at=at, happened_at=old.tested_at)


def _written(correction: Correction) -> dict[str, Any]:
    return {
        "typed": f"{correction.typed} {correction.unit}".strip(),
        "modes": list(correction.modes),
        "opened": correction.opened,
        "remark": correction.remark,
    }


def _stood(result: Result) -> dict[str, Any]:
    return {
        "revision": result.revision,
        "recorded": f"{result.recorded} {result.recorded_unit}".strip(),
        "strength": result.strength,
        "modes": list(result.modes),
        "marks": list(result.marks),
        "remark": result.remark,
    }


def _event(act: str, correction: Correction, **told) -> None:
    specimen = correction.result.specimen
    trail.write(act, subject=f"specimen {specimen.label}", study=specimen.study, **told)
