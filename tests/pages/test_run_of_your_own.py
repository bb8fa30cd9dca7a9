"""A run is one person's: whoever takes over goes on in a run of their own. And how far its lots are conditioned."""

from datetime import timedelta

import pytest
from django.urls import reverse

from labrecords.actions import samples
from labrecords.models import Refusal, Result, Run
from labrecords.queries import conditioning
from tests import loaded
from tests import world as cast
from tests.clock import stopped
from tests.pages.test_bench import entry


@pytest.fixture
def world(laboratory, client, monkeypatch):
    """Timo is at the bench on which Runa has her run, and may test."""
    stopped(monkeypatch, laboratory.at)
    cast.authorise(laboratory.timo, laboratory.method, by=laboratory.magnus, at=laboratory.at)
    client.force_login(laboratory.timo)
    return laboratory


def way_on(world):
    return f"{reverse('open-run', args=[world.study.code])}?from={world.run.pk}"


def in_hand(world):
    return world.specimens[1].label


ROOM = {"room_c": "23", "room_humidity_percent": "50"}


def test_the_way_on_is_offered_to_whoever_did_not_open_the_run(client, world):
    where = reverse("run", args=[world.run.pk])
    page = client.get(where, {"specimen": in_hand(world)}).content.decode()
    assert f'href="{way_on(world)}&amp;specimen={in_hand(world)}"' in page
    client.force_login(world.runa)
    assert "Go on in a run of your own" not in client.get(where).content.decode()


def test_the_same_equipment_is_offered_and_the_room_is_read_anew(client, world):
    form = client.get(way_on(world)).context["form"]
    assert form["tester"].value() == world.tester.label
    assert form["cell"].value() == world.cell.label
    assert not any(form[name].value() for name in ROOM)
    plain = client.get(reverse("open-run", args=[world.study.code])).context["form"]
    assert not plain["tester"].value()


def test_a_run_of_your_own_comes_back_to_the_specimen_and_leaves_the_other_as_it_is(client, world):
    sent = {"tester": world.tester.label, "cell": world.cell.label} | ROOM
    answer = client.post(f"{way_on(world)}&specimen={in_hand(world)}", sent)
    made = Run.objects.exclude(pk=world.run.pk).get()
    assert answer.url == f"{reverse('run', args=[made.pk])}?specimen={in_hand(world)}"
    assert client.get(answer.url).context["form"]["specimen"].value() == in_hand(world)
    assert (made.person, made.tester, made.cell) == (world.timo, world.tester, world.cell)
    assert Run.objects.get(pk=world.run.pk).closed_at is None
    # ten o'clock where the laboratory is: the minute in which the run was opened
    sent = entry(world, specimen=in_hand(world), tested_at="2026-05-20T10:00")
    assert client.post(reverse("run", args=[made.pk]), sent).status_code == 302
    assert Result.objects.get().tested_by == world.timo


def test_who_may_not_test_goes_on_in_no_run(client, world):
    client.force_login(world.edda)
    sent = {"tester": world.tester.label, "cell": world.cell.label} | ROOM
    answer = client.post(f"{way_on(world)}&specimen={in_hand(world)}", sent)
    assert answer.status_code in (403, 422)
    assert "not-authorised" in Refusal.objects.get().codes
    assert answer.context["form"]["cell"].value() == world.cell.label
    assert Run.objects.count() == 1


@pytest.mark.parametrize("text", ["", "x", "0190b3c4-0000-7000-8000-000000000000"])
def test_what_is_no_run_of_the_study_offers_nothing(client, world, text):
    where = reverse("open-run", args=[world.study.code])
    answer = client.get(where, {"from": text, "specimen": "nonsense"})
    assert answer.status_code == 200
    assert answer.context["before"] is None


def test_nor_does_a_run_of_another_study(client, world):
    other = loaded.planned(world, [cast.GROUPS[0] | {"packs": 2}])
    where = reverse("open-run", args=[other.code])
    assert client.get(where, {"from": str(world.run.pk)}).context["before"] is None


def lot_of(world):
    return world.specimens[0].pack.lot


def test_a_lot_is_ready_once_the_hours_of_the_set_up_are_over(client, world):
    began = lot_of(world).conditionings.get().started_at
    ready = began + timedelta(hours=40)
    [before] = conditioning.of_study(world.study, ready - timedelta(seconds=1))
    assert (before.is_ready, before.ready_at) == (False, ready)
    [after] = conditioning.of_study(world.study, ready)
    assert (after.is_ready, after.hours) == (True, 40.0)
    assert "Conditioned" in client.get(reverse("run", args=[world.run.pk])).content.decode()


def test_what_began_anew_is_counted_from_then(client, world):
    again = {"temperature_c": 23, "humidity_percent": 50, "place": "room 2", "by": world.runa, "at": world.at}
    samples.condition(lot=lot_of(world), started_at=world.at - timedelta(hours=1), **again)
    page = client.get(reverse("run", args=[world.run.pk])).content.decode()
    assert "1.0 h until now" in page
    assert f'data-ready-at="{(world.at + timedelta(hours=39)).date()}' in page


def test_what_was_not_begun_says_so_and_a_lot_that_is_done_is_left_out(client, world):
    study = loaded.planned(world, [cast.GROUPS[0] | {"packs": 1}])
    samples.receive(
        study=study,
        name="L1",
        received_at=world.at - timedelta(days=1),
        by=world.runa,
        at=world.at - timedelta(days=1),
        **dict.fromkeys(("description", "condition", "sealed_how", "sampled_by", "sampled_on", "place"), "as usual"),
    )
    assert conditioning.of_study(study, world.at) == []  # nothing is cut, so no strip waits
    samples.cut(lot=study.lots.get(), place="bench 1", by=world.runa, at=world.at)
    [found] = conditioning.of_study(study, world.at)
    assert (found.since, found.ready_at, found.is_ready, found.hours) == (None, None, False, 0.0)
