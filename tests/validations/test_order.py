"""The drawn order: drawn once, from everything, and kept to; what is pulled otherwise counts with a mark."""

from collections import Counter

import pytest

from labrecords.actions import validations, voids
from labrecords.models import Event, PullOrder, PullPlace, Result, Run, Specimen, Study
from labrecords.queries import validation_plans
from labrecords.queries.access import NotAllowed
from tests import loaded
from tests import world as lab
from tests.equipment.conftest import refused
from tests.validations import cast


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def who(world):
    return cast.technicians(world)


@pytest.fixture
def study(world, who):
    return cast.planned(world, who)


def draw(world, study, **changed):
    return validations.draw_order(study=study, at=world.at, **{"by": world.edda} | changed)


def test_every_strip_has_a_place_and_each_pack_gives_everybody_one(world, study):
    draw(world, study)
    places = PullPlace.objects.filter(order__study=study).select_related("person", "specimen__pack")
    assert len(places) == 24
    assert set(Counter((p.person.name, p.specimen.pack.label) for p in places).values()) == {1}
    event = Event.objects.get(act="order.drawn")
    assert PullOrder.objects.get().seed in event.body


def test_an_order_is_drawn_once(world, study):
    draw(world, study)
    with refused("order-drawn", PullOrder, PullPlace):
        draw(world, study)


def test_only_an_engineer_draws(world, study, who):
    for person in (world.runa, world.magnus, who["Ann"]):
        with pytest.raises(NotAllowed):
            draw(world, study, by=person)
    assert not PullOrder.objects.exists()


def test_before_every_strip_is_cut_nothing_is_drawn(world, who):
    groups = [cast.group(lot, 6, specimens_per_pack=4) for lot in ("L", "M")]
    study = loaded.planned(world, groups, limits=lab.LIMITS, validation=cast.part(who))
    loaded.received(world, study, ["L"])
    with refused("order-early", PullOrder, PullPlace):
        draw(world, study)
    loaded.received(world, study, ["M"])
    assert draw(world, study).places.count() == 48


def test_without_an_order_no_run_is_opened(world, study, who):
    with refused("order-not-drawn", Run):
        lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"])


def test_whoever_takes_part_needs_no_authorisation_there_and_nobody_else_gets_in(world, study, who):
    cast.drawn(world, study)
    assert lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"]).number == 1
    with refused("not-authorised", Run):
        lab.open_run(world, study=study, person=world.timo, by=world.timo)
    plain = loaded.planned(world, lab.GROUPS)
    with refused("not-authorised", Run):
        lab.open_run(world, study=plain, person=who["Ann"], by=who["Ann"])


def first_places(study, person):
    return list(PullPlace.objects.filter(order__study=study, person=person).select_related("specimen")[:3])


def enter(world, run, person, strip):
    return lab.enter(world, specimen=strip, run=run, tested_by=person, entered_by=person)


def test_what_is_pulled_as_drawn_carries_no_mark(world, study, who):
    cast.drawn(world, study)
    run = lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"])
    for place in first_places(study, who["Ann"]):
        assert enter(world, run, who["Ann"], place.specimen).marks == ()


def test_a_strip_before_its_turn_counts_with_a_mark(world, study, who):
    cast.drawn(world, study)
    run = lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"])
    first, second, third = first_places(study, who["Ann"])
    assert enter(world, run, who["Ann"], second.specimen).marks == ("not-as-drawn",)
    assert enter(world, run, who["Ann"], first.specimen).marks == ()
    assert enter(world, run, who["Ann"], third.specimen).marks == ()


def test_another_person_s_strip_counts_with_a_mark(world, study, who):
    cast.drawn(world, study)
    run = lab.open_run(world, study=study, person=who["Bo"], by=who["Bo"])
    strip = first_places(study, who["Ann"])[0].specimen
    kept = enter(world, run, who["Bo"], strip)
    assert kept.marks == ("not-as-drawn",)
    assert Result.objects.get(specimen=strip).tested_by == who["Bo"]


def test_the_bench_offers_the_person_s_own_strips_in_their_order(world, study, who):
    cast.drawn(world, study)
    run = lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"])
    mine = [place.specimen for place in PullPlace.objects.filter(order__study=study, person=who["Ann"])]
    assert validation_plans.next_for(run) == mine
    enter(world, run, who["Ann"], mine[0])
    assert validation_plans.next_for(run) == mine[1:]


def test_a_replacement_takes_the_place_of_what_it_replaces(world, who):
    groups = [cast.group("L", 12, specimens_per_pack=1)]
    study = cast.planned(world, who, groups=groups)
    cast.drawn(world, study)
    place = first_places(study, who["Cy"])[0]
    voids.void(specimen=place.specimen, cause="cut", words="Nicked.", by=world.runa, at=world.at)
    strip = Specimen.objects.get(pk=place.specimen_id)
    made = voids.replace(specimen=strip, pack=strip.pack, by=world.runa, at=world.at)
    again = PullPlace.objects.get(specimen=made)
    assert (again.person, again.number) == (who["Cy"], place.number)
    run = lab.open_run(world, study=study, person=who["Cy"], by=who["Cy"])
    assert enter(world, run, who["Cy"], made).marks == ()


def test_a_successor_study_has_the_same_people_and_criteria(world, study):
    from labrecords.actions import studies

    new = studies.amend(study=study, reason="Another rate.", password=lab.PASSWORD, by=world.edda, at=world.at)
    old_plan, plan = (validation_plans.need(Study.objects.get(pk=one.pk)) for one in (study, new))
    assert [row.person for row in validation_plans.people(plan)] == [
        row.person for row in validation_plans.people(old_plan)
    ]
    assert {str(row) for row in plan.criteria.all()} == {str(row) for row in old_plan.criteria.all()}
    assert (plan.margin, plan.design, plan.reason) == (old_plan.margin, old_plan.design, old_plan.reason)


def test_an_incomplete_plan_is_not_locked(world, who):
    from labrecords.actions import studies

    draft = studies.plan(
        project=world.project,
        by=world.edda,
        at=world.at,
        study=lab.STUDY,
        setup=lab.SETUP | {"method_version": world.method},
        groups=lab.GROUPS,
        limits=lab.LIMITS,
        validation=cast.part({"Ann": who["Ann"]}),
    )
    with refused("validation-incomplete"):
        studies.lock(study=draft, by=world.edda, at=world.at)
    assert Study.objects.get(pk=draft.pk).state == "draft"
