"""Process limits from window studies: proposed with a rationale, decided by a second person, never rewritten."""

from datetime import datetime
from decimal import Decimal

from labrecords.models import DerivedLimit, LimitDecision, Study, User
from labrecords.queries import access, derived, lab, limit_choices, windows
from labrecords.rules import derived_limit
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import RELEASED

from . import trail
from .numbering import next_code
from .refusals import one_act


def propose(
    *,
    study: Study,
    side: str,
    margin_percent: Decimal,
    rationale: str,
    by: User,
    at: datetime,
    supersedes: DerivedLimit | None = None,
) -> DerivedLimit:
    """Propose the limit that a window supports. With `supersedes` it is the next version of that limit."""
    access.demand(by, "keep a window")
    tried = f"propose a {side} process limit from {study.code}"
    with one_act("propose a limit", by=by, at=at, study=study, tried=tried) as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        found = windows.read(study)
        value = limit_choices.settled(found, side, margin_percent)
        stop(_against(found, side, value, rationale))
        version = _next_version(supersedes, side, stop)
        bound, whose = limit_choices.starting_bound(found, side)
        kept = DerivedLimit.objects.create(
            code=supersedes.code if supersedes else next_code("L", lab.day(at)),
            version=version,
            supersedes=supersedes,
            study=study,
            side=side,
            value=value,
            unit=study.setup.unit,
            bound=bound,
            bound_of=whose,
            margin_percent=margin_percent,
            rationale=rationale,
            lacking="; ".join(found.lacking()),
            content=limit_choices.as_stored(found, side),
            by=by,
            at=at,
        )
        after = {"id": kept.pk, "value": kept.value, "unit": kept.unit, "side": side, "bound": repr(bound)}
        after |= {"of": whose, "margin": margin_percent, "lacking": kept.lacking}
        trail.write("limit.proposed", subject=_subject(kept), by=by, at=at, study=study, after=after, why=rationale)
    return kept


def _against(found: windows.Window, side: str, value: Decimal | None, rationale: str) -> list[Answer]:
    """What stands against proposing."""
    study = found.study
    demands = [
        derived_limit.Demand(limit.side, limit.value, limit.unit)
        for limit in study.limits.all()
        if limit.kind == "requirement"
    ]
    return derived_limit.check_proposal(
        state=study.state, side=side, value=value, unit=study.setup.unit, demands=demands, rationale=rationale
    )


def _next_version(supersedes: DerivedLimit | None, side: str, stop) -> int:
    if supersedes is None:
        return 1
    latest = derived.latest(supersedes.code)
    if latest.pk != supersedes.pk or not hasattr(latest, "decision"):
        stop([Answer("version-open", f"{latest} is the last version.")])
    if latest.side != side:
        stop([Answer("limit-not-in-force", f"{latest} is a limit of the other side.")])
    return latest.version + 1


def decide(*, limit: DerivedLimit, approved: bool, words: str, by: User, at: datetime) -> LimitDecision:
    """Approve a proposed limit, or not; by somebody other than its proposer."""
    access.demand(by, "approve a limit")
    study = limit.study
    with one_act("approve a limit", by=by, at=at, study=study, tried=f"decide on {limit}") as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        if LimitDecision.objects.filter(limit=limit).exists():
            stop([Answer("already-decided", f"{limit} is decided.")])
        unchanged = not approved or limit_choices.results(windows.read(study)) == limit.content["results"]
        stop(
            derived_limit.check_approval(
                state=study.state if approved else RELEASED,
                unchanged=unchanged,
                same_person=by.pk == limit.by_id,
                words=words,
                name=by.name,
            )
        )
        kept = LimitDecision.objects.create(limit=limit, approved=approved, words=words, by=by, at=at)
        after = {"id": kept.pk, "approved": approved}
        trail.write("limit.decided", subject=_subject(limit), by=by, at=at, study=study, after=after, why=words)
    return kept


def _subject(limit: DerivedLimit) -> str:
    return f"limit {limit}"
