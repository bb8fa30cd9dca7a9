"""What was found when a lot came in, what the client said of it, and what its arms went through."""

from datetime import date, datetime

from labrecords.models import Discrepancy, DiscrepancyAnswer, Lot, Study, Treatment, User
from labrecords.queries import access, lab
from labrecords.rules import ageing
from labrecords.rules.answers import Answer

from . import trail
from .refusals import one_act


def find_discrepancy(*, lot: Lot, words: str, by: User, at: datetime) -> Discrepancy:
    """Something is not as agreed: the lot is not cut, and results of it wait, until the client has answered."""
    access.demand(by, "receive samples")
    with one_act("find a discrepancy", by=by, at=at, study=lot.study, tried=f"find with lot {lot.name}") as stop:
        if not words.strip():
            stop([Answer("words-missing", "What was expected and what came was not written down.")])
        kept = Discrepancy.objects.create(lot=lot, words=words, by=by, at=at)
        subject = f"lot {lot.label}"
        after = {"id": kept.pk}
        trail.write("lot.discrepancy-found", subject=subject, by=by, at=at, study=lot.study, after=after, why=words)
    return kept


def answer_discrepancy(
    *,
    discrepancy: Discrepancy,
    proceeds: bool,
    words: str,
    said_by: str,
    said_on: date,
    disclaimer: str,
    by: User,
    at: datetime,
) -> DiscrepancyAnswer:
    """What the client said. Tested all the same, the report carries a disclaimer."""
    access.demand(by, "answer for a client")
    lot = discrepancy.lot
    with one_act("answer a discrepancy", by=by, at=at, study=lot.study, tried=f"answer for {lot.name}") as stop:
        Study.objects.select_for_update().get(pk=lot.study_id)
        if DiscrepancyAnswer.objects.filter(discrepancy=discrepancy).exists():
            stop([Answer("state-refused", "This discrepancy has been answered.")])
        if said_on > lab.day(at):
            stop([Answer("in-the-future", f"The client is said to have answered on {said_on}, which is to come.")])
        if proceeds and not disclaimer.strip():
            stop([Answer("words-missing", "What the report says of it was not written down.")])
        kept = DiscrepancyAnswer.objects.create(
            discrepancy=discrepancy,
            proceeds=proceeds,
            words=words,
            said_by=said_by,
            said_on=said_on,
            disclaimer=disclaimer,
            by=by,
            at=at,
        )
        after = {"id": kept.pk, "proceeds": proceeds, "said by": said_by, "disclaimer": disclaimer}
        subject = f"lot {lot.label}"
        trail.write("lot.discrepancy-answered", subject=subject, by=by, at=at, study=lot.study, after=after, why=words)
    return kept


def record_treatment(*, lot: Lot, kind: str, by: User, at: datetime, **fields) -> Treatment:
    """What an arm of a lot went through; for ageing, the days at ambient it stands for are computed."""
    access.demand(by, "receive samples")
    with one_act("record a treatment", by=by, at=at, study=lot.study, tried=f"{kind}, lot {lot.name}") as stop:
        if not lot.study.groups.filter(lot=lot.name, arm=fields["arm"], time_point=fields["time_point"]).exists():
            named = f"{fields['arm']}, {fields['time_point']}".rstrip(", ")
            stop([Answer("not-in-plan", f"The plan has no arm '{named}' of lot {lot.name}.")])
        if fields["ended_on"] > lab.day(at):
            stop([Answer("in-the-future", f"It is said to have ended on {fields['ended_on']}, which is to come.")])
        if kind == Treatment.AGED:
            told = {name: fields.get(name) for name in ("ageing_c", "ambient_c", "q10")}
            stop(ageing.check_ageing(**told))
            days = (fields["ended_on"] - fields["started_on"]).days
            fields["simulated_days"] = days * ageing.factor(**told)
        kept = Treatment(lot=lot, kind=kind, by=by, at=at, **fields)
        kept.full_clean()
        kept.save()
        after = {"id": kept.pk, "kind": kind} | {name: str(value) for name, value in fields.items()}
        trail.write("lot.treated", subject=f"lot {lot.label}", by=by, at=at, study=lot.study, after=after)
    return kept
