"""Studies: planned, locked, amended by a successor."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from labrecords.models import Limit, PlanGroup, Project, Setup, Study, User
from labrecords.queries import access, budgets, derived, lab, setups
from labrecords.rules import budget, derived_limit
from labrecords.rules import setup as setup_rules
from labrecords.rules.answers import Answer
from labrecords.rules.canonical import canonical, sha256
from labrecords.rules.comparable import differences
from labrecords.rules.second_factor import Given
from labrecords.rules.study_states import DRAFT, LOCKED, STEPS, check_step

from . import plan_parts, protocols, trail
from .numbering import next_code
from .refusals import one_act
from .signing import NOTHING, show, sign

COPIED = (
    "title",
    "purpose",
    "rationale",
    "coverage",
    "confidence",
    "bound_rule",
    "decision_rule",
    "decision_chosen_by",
    "agreement",
    "no_agreement_reason",
)


@transaction.atomic(durable=True)
def plan(
    *,
    project: Project,
    by: User,
    at: datetime,
    study: Mapping[str, Any],
    setup: Mapping[str, Any],
    groups: Iterable[Mapping[str, Any]],
    limits: Iterable[Mapping[str, Any]] = (),
    window: Mapping[str, Any] | None = None,
    validation: Mapping[str, Any] | None = None,
) -> Study:
    """A draft: the question, the set-up, the plan's groups and the limits. Nothing is frozen yet.

    A window study has a `window` too: its sealer, whether packs are opened by hand, and its sealing `settings`. A
    validation study has a `validation`: its design, margin and reason, the people of the group and those who join it,
    and the criteria by kind, in per cent.
    """
    access.demand(by, "plan a study")
    code = next_code("S", lab.day(at))
    made = Study(project=project, code=code, created_by=by, created_at=at, **study)
    made.full_clean(exclude=["created_by", "project"])
    made.save()
    _write_plan(made, setup, groups, limits, window=window, validation=validation)
    trail.write("study.planned", subject=f"study {code}", by=by, at=at, study=made, after=_written(made))
    return made


def replan(
    *,
    study: Study,
    by: User,
    at: datetime,
    fields: Mapping[str, Any],
    setup: Mapping[str, Any],
    groups: Iterable[Mapping[str, Any]],
    limits: Iterable[Mapping[str, Any]] = (),
    window: Mapping[str, Any] | None = None,
    validation: Mapping[str, Any] | None = None,
) -> Study:
    """Write a draft anew, as a whole. A locked study refuses."""
    access.demand(by, "plan a study")
    with one_act("plan a study", by=by, at=at, study=study, tried=f"change the plan of {study.code}") as stop:
        made = Study.objects.select_for_update().get(pk=study.pk)
        if made.state != DRAFT:
            stop([Answer("setup-locked", f"{made.code} is {made.state}.")])
        before = _written(made)
        for name, value in fields.items():
            setattr(made, name, value)
        made.full_clean(exclude=["created_by", "project"])
        made.save()
        Setup.objects.filter(study=made).delete()
        made.groups.all().delete()
        made.limits.all().delete()
        plan_parts.remove(made)
        made = Study.objects.get(pk=made.pk)
        _write_plan(made, setup, groups, limits, window=window, validation=validation)
        trail.write(
            "study.replanned",
            subject=f"study {made.code}",
            by=by,
            at=at,
            study=made,
            before=before,
            after=_written(made),
        )
    return made


def _write_plan(study, setup, groups, limits, **parts) -> None:
    made = Setup(study=study, **setup)
    made.full_clean(exclude=["study", "method_version"])
    made.save()
    for number, group in enumerate(groups, start=1):
        row = PlanGroup(study=study, number=number, **group)
        row.full_clean(exclude=["study"])
        row.save()
    for limit in limits:
        row = Limit(study=study, **_as_approved(limit))
        row.full_clean(exclude=["study", "derived"])
        row.save()
    plan_parts.write(study, **parts)


def _as_approved(limit: Mapping[str, Any]) -> Mapping[str, Any]:
    """A plan's limit; one that comes of a window study stands there as it was approved."""
    derived = limit.get("derived")
    if derived is None:
        return limit
    words = f"{derived}, from window study {derived.study.code}"
    taken = {"side": derived.side, "value": derived.value, "unit": derived.unit, "origin_words": words}
    return {**limit, "origin": "derived", **taken}


def _written(study: Study) -> dict[str, Any]:
    return {
        "title": study.title,
        "purpose": study.purpose,
        "rationale": study.rationale,
        "coverage": study.coverage,
        "confidence": study.confidence,
        "bound rule": study.bound_rule,
        "decision rule": study.decision_rule,
        "agreement": f"{study.agreement} {study.no_agreement_reason}".strip(),
        "set-up": dict(setups.described(study.setup)),
        "groups": [{"group": str(group), "planned": str(group.planned)} for group in study.groups.all()],
        "limits": [f"{limit}; origin {limit.origin} {limit.origin_words}".strip() for limit in study.limits.all()],
    } | plan_parts.written(study)


def lock(*, study: Study, by: User, at: datetime) -> Study:
    """Freeze set-up, plan and limits, and print the set-up mark."""
    access.demand(by, "lock a set-up")
    with one_act("lock a set-up", by=by, at=at, study=study, tried=f"lock {study.code}") as stop:
        locked = Study.objects.select_for_update().get(pk=study.pk)
        stop(check_step(locked.state, "lock the set-up"))
        stop(lock_answers(locked))
        protocol = protocols.settle(study=locked, by=by, at=at)
        locked.mark = setups.mark(locked.setup)
        locked.budget = budgets.in_force(locked.setup.method_version, locked.setup.technique)
        locked.locked_by, locked.locked_at, locked.state = by, at, LOCKED
        locked.save(update_fields=["mark", "budget", "locked_by", "locked_at", "state"])
        after = {"mark": locked.mark, "budget": locked.budget and locked.budget.code, "protocol": protocol.version}
        after |= {"protocol_sha256": protocol.content_sha256} | _written(locked)
        trail.write("study.locked", subject=f"study {locked.code}", by=by, at=at, study=locked, after=after)
    return locked


def lock_answers(study: Study) -> tuple[Answer, ...]:
    """What stands against locking a draft; the page asks this beforehand."""
    version = study.setup.method_version
    own = setup_rules.check_lock(
        setup=setups.as_facts(study.setup),
        method=setups.method_facts(version),
        groups=study.groups.count(),
        limits=[setup_rules.Limit(limit.kind, limit.side, limit.value, limit.unit) for limit in study.limits.all()],
        no_conditioning_reason=study.setup.no_conditioning_reason,
    )
    return (
        *own,
        *_guard_answers(study),
        *plan_parts.answers(study),
        *_derived_answers(study),
        *protocols.against(study),
    )


def _guard_answers(study: Study) -> list[Answer]:
    version, technique = study.setup.method_version, study.setup.technique
    found = budgets.in_force(version, technique)
    return budget.check_guard(
        decision_rule=study.decision_rule,
        budget=found.code if found else None,
        method=str(version),
        technique=technique,
    )


def _derived_answers(study: Study) -> list[Answer]:
    answers = []
    for limit in study.limits.select_related("derived__study__setup__method_version__method"):
        if limit.derived is not None:
            then, here = (dict(setups.described(one.setup)) for one in (limit.derived.study, study))
            answers += derived_limit.check_use(
                name=str(limit.derived),
                kind=limit.kind,
                in_force=derived.in_force(limit.derived),
                differs=differences(then, here),
            )
    return answers


def withdraw(*, study: Study, reason: str, by: User, at: datetime) -> Study:
    """End a study that has not been tested; it stays readable."""
    access.demand(by, "plan a study")
    with one_act("withdraw a study", by=by, at=at, study=study) as stop:
        kept = Study.objects.select_for_update().get(pk=study.pk)
        stop(check_step(kept.state, "withdraw"))
        if not reason.strip():
            stop([Answer("words-missing", "The reason was not written down.")])
        kept.state = STEPS[kept.state]["withdraw"]
        kept.save(update_fields=["state"])
        trail.write("study.withdrawn", subject=f"study {kept.code}", by=by, at=at, study=kept, why=reason)
    return kept


def amend(*, study: Study, reason: str, password: str, by: User, at: datetime, given: Given = NOTHING) -> Study:
    """A signed amendment: a successor study with the same plan, still open to change, linked to this one.

    Both are kept; their results are never pooled.
    """
    access.demand(by, "plan a study")
    tried = f"open a successor to {study.code}"
    shown = show(password=password, given=given, by=by, at=at)
    with one_act("amend a study", by=by, at=at, study=study, tried=tried) as stop:
        old = Study.objects.select_for_update().get(pk=study.pk)
        if old.locked_at is None or hasattr(old, "successor"):
            why = f"{old.code} is not locked." if old.locked_at is None else f"{old.code} has a successor already."
            stop([Answer("state-refused", why)])
        if not reason.strip():
            stop([Answer("words-missing", "The reason was not written down.")])
        new = _copy(old, reason, by, at)
        content = canonical({"amends": old.code, "mark": old.mark, "by": new.code, "why": reason})
        sign(
            meaning=f"amendment of {old.code}, continued as {new.code}",
            content_sha256=sha256(content),
            shown=shown,
            stop=stop,
            by=by,
            at=at,
            study=old,
        )
        trail.write(
            "study.amended",
            subject=f"study {old.code}",
            by=by,
            at=at,
            study=old,
            after={"successor": new.code},
            why=reason,
        )
    return new


def _copy(old: Study, reason: str, by: User, at: datetime) -> Study:
    new = Study.objects.create(
        project=old.project,
        code=next_code("S", lab.day(at)),
        predecessor=old,
        amendment_reason=reason,
        created_by=by,
        created_at=at,
        **{name: getattr(old, name) for name in COPIED},
    )
    for row in [old.setup, *old.groups.all(), *old.limits.all()]:
        plan_parts.again(row, study=new)
    plan_parts.copy(old, new)
    return new
