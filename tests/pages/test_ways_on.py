"""A refusal at the bench leads on: other equipment, another person, the specimen that is named, with the draft."""

from datetime import timedelta

import pytest
from django.urls import reverse

from labrecords.actions import equipment, runs
from labrecords.models import Result, Run
from tests import world as cast
from tests.clock import stopped
from tests.pages.test_bench import entry
from tests.pages.test_run_of_your_own import ROOM


@pytest.fixture
def world(laboratory, client, monkeypatch):
    stopped(monkeypatch, laboratory.at)
    client.force_login(laboratory.runa)
    return laboratory


def stop(world):
    before = world.at - timedelta(minutes=5)
    equipment.take_out_of_service(equipment=world.cell, reason="It was dropped.", by=world.magnus, at=before)


def ways(client, world, *, by_script=False, **changed):
    """The panels' buttons after an entry that is refused, as label and address by code."""
    # ten o'clock where the laboratory is: now
    sent = entry(world, **{"tested_at": "2026-05-20T10:00"} | changed)
    where = reverse("run", args=[world.run.pk])
    answer = client.post(where, sent, **({"HTTP_ACCEPT": "application/json"} if by_script else {}))
    panels = answer.json()["panels"] if by_script else answer.context["refusals"]
    if not by_script:
        page = answer.content.decode().replace("&amp;", "&")
        assert all(f'href="{way["url"]}"' in page for panel in panels for way in panel["next"])
    return {panel["code"]: [(way["label"], way["url"]) for way in panel["next"]] for panel in panels}


def onward(world):
    label = world.specimens[0].label
    return f"{reverse('open-run', args=[world.study.code])}?from={world.run.pk}&specimen={label}"


@pytest.mark.parametrize("by_script", [False, True])
def test_a_cell_out_of_service_leads_to_other_equipment(client, world, by_script):
    stop(world)
    assert ways(client, world, by_script=by_script) == {
        "out-of-service": [("Go on with other equipment", onward(world))]
    }
    assert not Result.objects.exists()


def test_a_specimen_that_is_done_leads_to_what_is_kept_of_it(client, world):
    cast.enter(world)
    label = world.specimens[0].label
    assert ways(client, world)["specimen-done"] == [(f"See {label}", reverse("specimen", args=[label]))]


def test_a_closed_run_leads_to_another(client, world):
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    assert ways(client, world)["run-closed"] == [("Open another run", onward(world))]


def test_what_is_mended_in_the_form_leads_nowhere_else(client, world):
    assert ways(client, world, typed="one") == {"not-a-number": [], "no-value": []}


def test_other_equipment_is_chosen_and_the_specimen_comes_along(client, world):
    stop(world)
    other = cast.add_equipment(world.people, "cell", "Another cell 50 N", 50.0, world.at)
    form = client.get(onward(world)).context["form"]
    assert (form["tester"].value(), form["cell"].value()) == (world.tester.label, None)
    refused = client.post(onward(world), {"tester": world.tester.label, "cell": world.cell.label} | ROOM)
    [panel] = refused.context["refusals"]
    assert panel["next"] == [{"label": "Choose another load cell", "url": "#id_cell"}]
    assert Run.objects.count() == 1
    answer = client.post(onward(world), {"tester": world.tester.label, "cell": other.label} | ROOM)
    made = Run.objects.exclude(pk=world.run.pk).get()
    label = world.specimens[0].label
    assert answer.url == f"{reverse('run', args=[made.pk])}?specimen={label}&from={world.run.pk}"
    page = client.get(answer.url)
    assert page.context["form"]["specimen"].value() == label
    assert f'data-before="{world.run.pk}"' in page.content.decode()


def test_what_somebody_else_typed_does_not_come_along(client, world):
    cast.authorise(world.timo, world.method, by=world.magnus, at=world.at)
    client.force_login(world.timo)
    answer = client.post(onward(world), {"tester": world.tester.label, "cell": world.cell.label} | ROOM)
    assert "from=" not in answer.url
