"""The audit trail of a record, in words, for the manager."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from labrecords.actions import corrections, deviations
from labrecords.models import Event
from labrecords.queries import trail
from tests import world as cast


@pytest.fixture
def world(laboratory):
    return laboratory


def read(client, person, query="", status=200) -> str:
    client.force_login(person)
    answer = client.get(reverse("trail") + query)
    assert answer.status_code == status
    return re.sub(r"\s+", " ", answer.content.decode())


def test_a_specimen_s_trail_tells_before_and_after_and_why(client, world):
    strip = world.specimens[0]
    cast.enter(world, specimen=strip, typed="1.25")
    asked = {"reason": "typing", "words": "The display said 1.52.", "typed": "1.52", "unit": "lbf/in", "modes": ("AP",)}
    corrections.ask(specimen=strip, by=world.runa, at=world.at, **asked)
    text = read(client, world.magnus, f"?subject=specimen {strip.label}")
    assert "recorded: 1.25 lbf/in → 1.52 lbf/in" in text
    assert "revision: 1 → 2" in text
    assert "The display said 1.52." in text
    assert "Runa Vik" in text
    assert str(world.method.pk) not in text


def test_a_study_s_trail_holds_everything_in_it(client, world):
    cast.enter(world)
    text = read(client, world.magnus, f"?study={world.study.code}")
    for verb in ("planned", "locked", "received", "conditioned", "cut", "opened", "kept"):
        assert f": {verb}<" in text
    assert "mark" in text


def test_only_the_manager_reads_it(client, world):
    for person in (world.runa, world.edda, world.signe, world.clara):
        read(client, person, status=403)


def test_what_waits_for_the_reader_s_decision_is_not_told(client, world):
    kept = cast.enter(world, run=cast.open_run(world, room_c=27.0), typed="1.77")
    subject = f"?subject=specimen {world.specimens[0].label}"
    text = read(client, world.magnus, subject)
    assert "Not shown: a result waits for a decision" in text
    assert "1.77" not in text
    deviations.decide(deviation=kept.result.deviations.get(), counts=True, words="Warm.", by=world.edda, at=world.at)
    assert "1.77" in read(client, world.magnus, subject)


def test_an_unknown_record_gets_a_sentence_and_a_wrong_place_an_error(client, world):
    assert "No act is on record under that name" in read(client, world.magnus, "?subject=specimen SP-999999-X")
    read(client, world.magnus, "?before=soon", status=422)


def test_a_long_trail_is_read_page_by_page(client, world, monkeypatch):
    monkeypatch.setattr(trail, "SHOWN", 5)
    seen, before = [], None
    while True:
        page = trail.read(before=before, reader=world.magnus)
        seen += [line.event.pk for line in page.lines]
        if page.older is None:
            break
        before = page.older
    assert seen == list(Event.objects.order_by("-id").values_list("pk", flat=True))
    assert "Older acts" in read(client, world.magnus)


def test_the_number_of_queries_does_not_grow_with_the_events(client, world):
    read(client, world.magnus)
    counts = []
    for query in ("?subject=person timo", ""):
        with CaptureQueriesContext(connection) as caught:
            read(client, world.magnus, query)
        counts.append(len(caught))
    assert counts[0] == counts[1]
