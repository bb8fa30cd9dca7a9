"""Validation studies: the order drawn by chance, and the manager's decision with the authorisations it grants."""

import secrets
from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime

from labrecords.models import PullOrder, PullPlace, Specimen, Study, User, ValidationDecision, ValidationPlan
from labrecords.queries import access, validation_plans, validations
from labrecords.rules import agreement, pull_order
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import LOCKED, RELEASED, REVIEWED

from . import people, trail
from .refusals import one_act


def draw_order(*, study: Study, by: User, at: datetime, seed: str | None = None) -> PullOrder:
    """Draw who pulls which strip, and when. Without a `seed` one is made; it is kept with the order."""
    access.demand(by, "draw an order")
    with one_act("draw an order", by=by, at=at, study=study, tried=f"draw the order of {study.code}") as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        plan = validation_plans.need(study)
        stop(_against_drawing(study))
        order = PullOrder.objects.create(study=study, seed=seed or secrets.token_hex(8), by=by, at=at)
        places = _place(order, plan)
        after = {"id": order.pk, "seed": order.seed, "design": plan.design, "places": places}
        trail.write("order.drawn", subject=f"study {study.code}", by=by, at=at, study=study, after=after)
    return order


def _against_drawing(study: Study) -> list[Answer]:
    if validation_plans.order(study) is not None:
        return [Answer("order-drawn", "It stands on the study's page.")]
    if study.state != LOCKED:
        return [Answer("order-early", f"The study is {study.state}.")]
    return [
        Answer("order-early", f"{group}: {cut} of {group.planned} strips are cut.")
        for group in study.groups.all()
        if (cut := group.specimens.filter(void__isnull=True).count()) < group.planned
    ]


def _place(order: PullOrder, plan: ValidationPlan) -> list[str]:
    strips = {strip.label: strip for strip in _strips(order.study)}
    who = {row.person.username: row.person for row in validation_plans.people(plan)}
    places = pull_order.draw(order.seed, design=plan.design, groups=_grouped(strips.values()), people=list(who))
    PullPlace.objects.bulk_create(
        PullPlace(order=order, specimen=strips[place.strip], person=who[place.person], number=place.number, at=order.at)
        for place in places
    )
    return [f"{place.number} of {who[place.person].name}: {place.strip}" for place in places]


def _strips(study: Study) -> Sequence[Specimen]:
    return study.specimens.filter(void__isnull=True).select_related("pack", "group").order_by("group__number", "label")


def _grouped(strips) -> list[dict[str, list[str]]]:
    groups: dict[int, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for strip in strips:
        groups[strip.group.number][strip.pack.label].append(strip.label)
    return list(groups.values())


def take_place(*, replaced: Specimen, by: Specimen, at: datetime) -> None:
    """A replacement goes to the same person, at the same place, as the strip that it replaces."""
    place = PullPlace.objects.filter(specimen=replaced).first()
    if place is not None:
        PullPlace.objects.create(
            order_id=place.order_id, specimen=by, person_id=place.person_id, number=place.number, at=at
        )


def decide(
    *,
    study: Study,
    passed: bool,
    words: str,
    authorised: Sequence[User] = (),
    from_on: date | None = None,
    until_on: date | None = None,
    by: User,
    at: datetime,
) -> ValidationDecision:
    """The manager's word on a validation study; passed, it authorises those chosen among the people who agree."""
    access.demand(by, "authorise people")
    with one_act("decide a validation", by=by, at=at, study=study, tried=f"decide on {study.code}") as stop:
        study = Study.objects.select_for_update().get(pk=study.pk)
        validation_plans.need(study)
        stop(_against_deciding(study, by, words))
        found = validations.read(study)
        stop(_not_shown(found, passed, authorised))
        kept = ValidationDecision.objects.create(
            study=study, passed=passed, words=words, content=validations.as_stored(found), by=by, at=at
        )
        after = {"id": kept.pk, "passed": passed, "authorised": [person.name for person in authorised]}
        after |= {"agree": [standing.name for standing in found.agreeing]}
        trail.write(
            "validation.decided", subject=f"study {study.code}", by=by, at=at, study=study, after=after, why=words
        )
        for person in authorised:
            _authorise(study, person, from_on, until_on, by, at)
    return kept


def _against_deciding(study: Study, by: User, words: str) -> list[Answer]:
    if ValidationDecision.objects.filter(study=study).exists():
        return [Answer("already-decided", f"The validation in {study.code} has been decided.")]
    said = []
    if study.state not in (REVIEWED, RELEASED):
        said.append(Answer("validation-open", f"{study.code} is {study.state}."))
    if study.runs.filter(results__tested_by=by).exists():
        said.append(Answer("same-person", f"{by.name} pulled strips of it."))
    if not words.strip():
        said.append(Answer("words-missing", "What was decided, and why, was not written down."))
    return said


def _not_shown(found: "validations.Validation", passed: bool, authorised: Sequence[User]) -> list[Answer]:
    said = []
    if passed and found.passed is not True:
        said.append(Answer("validation-not-met", found.why))
    agree = {standing.person for standing in found.agreeing} if passed else set()
    for person in authorised:
        if person.pk not in agree:
            standing = next((one for one in found.people if one.person == person.pk), None)
            why = (
                f"{person.name} {standing.verdict}." if standing and passed else f"{person.name} gets no authorisation."
            )
            said.append(Answer("not-shown-to-agree", why, {"person": person.name}))
    return said


def _authorise(study: Study, person: User, from_on: date, until_on: date, by: User, at: datetime) -> None:
    people.grant(
        person=person,
        method_version=study.setup.method_version,
        technique=study.setup.technique,
        from_on=from_on,
        until_on=until_on,
        evidence_kind="validation",
        evidence=f"{study.code} {study.title}: {agreement.AGREES} with the others.",
        study=study,
        by=by,
        at=at,
    )
