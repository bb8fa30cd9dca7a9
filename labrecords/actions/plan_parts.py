"""The parts that only some plans have: sealing settings of a window study, people and criteria of a validation."""

from collections.abc import Mapping
from typing import Any

from labrecords.models import (
    Criterion,
    SealingSetting,
    SealingWindow,
    Study,
    ValidationPerson,
    ValidationPlan,
)
from labrecords.queries import validation_plans, windows
from labrecords.rules import validation_plan, window_plan
from labrecords.rules.answers import Answer


def write(study: Study, *, window: Mapping[str, Any] | None, validation: Mapping[str, Any] | None) -> None:
    """Write what was given; neither is nothing."""
    if window is not None:
        _write_window(study, **window)
    if validation is not None:
        _write_validation(study, **validation)


def _write_window(study: Study, *, sealer, openings, settings) -> None:
    made = SealingWindow(study=study, sealer=sealer, openings=openings)
    made.full_clean(exclude=["study"])
    made.save()
    for number, setting in enumerate(settings, start=1):
        row = SealingSetting(window=made, number=number, **setting)
        row.full_clean(exclude=["window"])
        row.save()


def _write_validation(study: Study, *, design, margin, reason, group, joins, criteria) -> None:
    made = ValidationPlan(study=study, design=design, margin=margin, reason=reason)
    made.full_clean(exclude=["study"])
    made.save()
    for joining, people in ((False, group), (True, joins)):
        for person in people:
            ValidationPerson.objects.create(plan=made, person=person, joins=joining)
    for kind, percent in criteria.items():
        row = Criterion(plan=made, kind=kind, percent=percent)
        row.full_clean(exclude=["plan"])
        row.save()


def remove(study: Study) -> None:
    """Take the parts of a draft away, before it is written anew."""
    SealingSetting.objects.filter(window__study=study).delete()
    SealingWindow.objects.filter(study=study).delete()
    Criterion.objects.filter(plan__study=study).delete()
    ValidationPerson.objects.filter(plan__study=study).delete()
    ValidationPlan.objects.filter(study=study).delete()


def written(study: Study) -> dict[str, Any]:
    """The parts as the trail keeps them."""
    settings = [f"{row.kind} {row.label}: lot {row.lot}, {row.words}" for row in windows.settings(study)]
    plan = validation_plans.of_study(study)
    return {"settings": settings} | ({"validation": _validation(plan)} if plan else {})


def _validation(plan: ValidationPlan) -> dict[str, Any]:
    people = validation_plans.people(plan)
    return {
        "design": plan.design,
        "margin": plan.margin,
        "reason": plan.reason,
        "pull": [str(row.person) for row in people if not row.joins],
        "join": [str(row.person) for row in people if row.joins],
        "criteria": [str(row) for row in plan.criteria.all()],
    }


def answers(study: Study) -> list[Answer]:
    """What the parts of a plan have against locking it."""
    return [*_window_answers(study), *_validation_answers(study)]


def _window_answers(study: Study) -> list[Answer]:
    if not hasattr(study, "window"):
        return []
    groups = list(study.groups.all())
    return window_plan.check_window(
        [window_plan.Setting(row.kind, row.lot) for row in windows.settings(study)],
        lots={group.lot for group in groups},
        places=[(group.lot, windows.place_of(group)) for group in groups],
    )


def _validation_answers(study: Study) -> list[Answer]:
    plan = validation_plans.of_study(study)
    if plan is None:
        return []
    kinds = [row.kind for row in plan.criteria.all()]
    return validation_plan.check_validation(
        design=plan.design,
        people=validation_plans.participants(plan),
        groups=[
            validation_plan.Dealt(str(group), group.packs, group.specimens_per_pack) for group in study.groups.all()
        ],
        criteria=len(kinds),
        limits=study.limits.count(),
        shares=validation_plan.LIMIT_SHARE in kinds,
    )


def copy(old: Study, new: Study) -> None:
    """The parts once more, for the successor of a study."""
    if hasattr(old, "window"):
        settings = list(windows.settings(old))
        window = again(old.window, study=new)
        for row in settings:
            again(row, window=window)
    plan = validation_plans.of_study(old)
    if plan is not None:
        rows = [*validation_plans.people(plan), *plan.criteria.all()]
        made = again(plan, study=new)
        for row in rows:
            again(row, plan=made)


def again(row, **changed):
    """The same row once more, under another key."""
    row.pk = row._meta.pk.get_default()
    for name, value in changed.items():
        setattr(row, name, value)
    row._state.adding = True
    row.save(force_insert=True)
    return row
