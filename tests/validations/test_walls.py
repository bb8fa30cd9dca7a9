"""The same rules in the database: no script gets past them."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import transaction

from labrecords.actions import trail
from labrecords.models import (
    Authorisation,
    Criterion,
    PullOrder,
    PullPlace,
    Result,
    ValidationDecision,
    ValidationPerson,
    ValidationPlan,
)
from tests import loaded
from tests import world as lab
from tests.validations import cast
from tests.walls.refused import refused_as


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def who(world):
    return cast.technicians(world)


@pytest.fixture
def study(world, who):
    return cast.planned(world, who)


def test_a_locked_validation_is_neither_changed_nor_removed(world, study):
    plan = ValidationPlan.objects.get(study=study)
    for wrong in (
        lambda: ValidationPlan.objects.filter(study=study).update(margin=Decimal("9")),
        lambda: ValidationPerson.objects.filter(plan=plan).delete(),
        lambda: ValidationPerson.objects.create(plan=plan, person=world.timo, joins=False),
        lambda: Criterion.objects.filter(plan=plan).update(percent=Decimal("50")),
        lambda: Criterion.objects.filter(plan=plan).delete(),
    ):
        with refused_as("setup-locked"), transaction.atomic():
            wrong()


def test_control_a_draft_s_validation_changes(world):
    draft = lab.plan(world)
    plan = ValidationPlan.objects.create(study=draft, design="crossed", margin=Decimal("0.1"), reason="r")
    row = Criterion.objects.create(plan=plan, kind="repeatability", percent=Decimal(6))
    assert Criterion.objects.filter(pk=row.pk).update(percent=Decimal(7)) == 1
    assert Criterion.objects.filter(pk=row.pk).delete()[0] == 1


def order(world, study):
    with transaction.atomic():
        made = PullOrder.objects.create(study=study, seed="7", by=world.edda, at=world.at)
        trail.write("order.drawn", subject="study", by=world.edda, at=world.at, study=study, after={"id": made.pk})
    return made


def test_after_the_first_run_no_order_gets_in(world):
    plain = loaded.planned(world, lab.GROUPS)
    lab.open_run(world, study=plain)
    with refused_as("order-early"):
        order(world, plain)


def result(world, run, strip, person):
    return Result(
        specimen=strip,
        run=run,
        technique="A",
        rate=Decimal("11"),
        rate_unit="in/min",
        width_mm=Decimal("25.4"),
        modes=["AP"],
        marks=[],
        remark="",
        tested_at=world.at,
        tested_by=person,
        entered_by=person,
        at=world.at,
        strength=Decimal("1.5"),
        peak_force_n=6.67,
        recorded="1.5",
        recorded_unit="lbf/in",
    )


def test_a_strip_without_a_place_gets_no_result(world, study, who):
    order(world, study)
    run = lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"])
    strip = study.specimens.first()
    with refused_as("order-not-drawn"), transaction.atomic():
        result(world, run, strip, who["Ann"]).save()


def test_only_those_of_the_plan_pull_without_an_authorisation(world, study, who):
    drawn = cast.drawn(world, study)
    place = PullPlace.objects.filter(order=drawn, person=who["Ann"]).select_related("specimen").first()
    run = lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"])
    lab.enter(world, specimen=place.specimen, run=run, tested_by=who["Ann"], entered_by=who["Ann"])  # the control
    foreign = _run_of(world, study, world.timo)
    other = PullPlace.objects.filter(order=drawn, person=who["Bo"]).select_related("specimen").first()
    with refused_as("not-authorised"), transaction.atomic():
        result(world, foreign, other.specimen, world.timo).save()


def _run_of(world, study, person):
    """A run as a script might write it."""
    from labrecords.models import Run

    return Run.objects.create(
        study=study,
        number=9,
        person=person,
        tester=world.tester,
        cell=world.cell,
        technique="A",
        rate=Decimal("11"),
        rate_unit="in/min",
        room_c=23.0,
        room_humidity_percent=50.0,
        opened_at=world.at - lab.timedelta(hours=1),
    )


def decide(world, study, by, *, passed=True):
    with transaction.atomic():
        made = ValidationDecision.objects.create(study=study, passed=passed, words="w", content={}, by=by, at=world.at)
        trail.write("validation.decided", subject="study", by=by, at=world.at, study=study, after={"id": made.pk})


def grant(world, study, person, **changed):
    given = {"method_version": world.method, "technique": "A", "study": study}
    with transaction.atomic():
        made = Authorisation.objects.create(
            person=person,
            from_on=date(2026, 5, 20),
            until_on=date(2027, 5, 19),
            evidence_kind="validation",
            evidence="e",
            granted_by=world.magnus,
            at=world.at,
            **given | changed,
        )
        trail.write("person.authorised", subject="person", by=world.magnus, at=world.at, after={"id": made.pk})


def test_an_authorisation_rests_on_a_passed_study_that_names_the_person(validated):
    world, study, who = validated
    with refused_as("not-shown-to-agree"):
        grant(world, study, who["Ann"])
    with refused_as("same-person"):
        decide(world, study, who["Ann"])
    decide(world, study, world.magnus)
    grant(world, study, who["Ann"])
    for wrong in (
        lambda: grant(world, study, world.timo),
        lambda: grant(world, study, who["Bo"], technique="C"),
    ):
        with refused_as("not-shown-to-agree"):
            wrong()


def test_an_authorisation_does_not_rest_on_a_study_that_was_not_passed(validated):
    world, study, who = validated
    decide(world, study, world.magnus, passed=False)
    with refused_as("not-shown-to-agree"):
        grant(world, study, who["Ann"])


def test_unaccepted_results_are_not_decided_on(world, study):
    with refused_as("validation-open"):
        decide(world, study, world.magnus)
