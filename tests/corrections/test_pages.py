"""Corrections through the pages."""

import re

import pytest
from django.urls import reverse

from labrecords.actions import corrections, runs
from labrecords.models import Correction, Result
from labrecords.queries import corrections as found
from tests import world as cast


@pytest.fixture
def world(laboratory):
    cast.enter(laboratory, specimen=laboratory.specimens[0], typed="1.25")
    return laboratory


FIELDS = {"typed": "1.52", "unit": "lbf/in", "modes": ["AP"], "reason": "typing", "words": "The display said so."}


def send(client, world, person, **changed):
    client.force_login(person)
    return client.post(reverse("correct-result", args=[world.specimens[0].label]), FIELDS | changed)


def page(client, person, name, *args, status=200) -> str:
    client.force_login(person)
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == status
    return re.sub(r"\s+", " ", answer.content.decode())


def test_a_slip_is_corrected_and_every_version_stays_readable(client, world):
    label = world.specimens[0].label
    assert "Correct this result" in page(client, world.runa, "specimen", label)
    assert "It reads: 1.25 lbf/in; AP." in page(client, world.runa, "correct-result", label)
    assert send(client, world, world.runa).status_code == 302
    text = page(client, world.runa, "specimen", label)
    assert "Version 2" in text
    assert "Version 1" in text
    assert "1.25 lbf/in" in text
    assert "Slip of the keys: The display said so." in text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"words": ""}, "Fill this in."),
        ({"reason": ""}, "Choose one."),
        ({"typed": "much"}, "not a number"),
        ({"modes": ["ZZ"]}, "Choose failure modes of the method."),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(client, world, changed, said):
    answer = send(client, world, world.runa, **{"remark": "bent tail"} | changed)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert "bent tail" in text
    assert not Correction.objects.exists()
    assert Result.objects.filter(revision=2).count() == 0


def test_a_second_person_finds_it_among_the_reviews_and_agrees(client, world):
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    send(client, world, world.runa)
    (asked,) = found.waiting()
    assert world.specimens[0].label in page(client, world.sefa, "reviews")
    assert "A correction waits" in page(client, world.runa, "specimen", world.specimens[0].label)
    address = reverse("correction", args=[asked.pk])
    client.force_login(world.sefa)
    assert client.post(address, {"agreed": "yes", "words": ""}).status_code == 422
    assert client.post(address, {"agreed": "yes", "words": "Read."}).status_code == 302
    assert found.latest(world.specimens[0]).recorded == "1.52"
    assert "Agreed to by" in page(client, world.runa, "correction", asked.pk)


def test_whoever_asked_is_told_that_somebody_else_decides(client, world):
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    asked = corrections.ask(
        specimen=world.specimens[0],
        reason="typing",
        words="w",
        typed="1.5",
        unit="lbf/in",
        modes=("AP",),
        by=world.edda,
        at=world.at,
    )
    assert "somebody else decides" in page(client, world.edda, "correction", asked.pk)
    client.force_login(world.runa)
    assert client.post(reverse("correction", args=[asked.pk]), {"agreed": "yes", "words": "w"}).status_code == 403


def test_what_was_not_tested_has_nothing_to_correct(client, world):
    page(client, world.runa, "correct-result", world.specimens[1].label, status=404)
    assert "Correct this result" not in page(client, world.runa, "specimen", world.specimens[1].label)
