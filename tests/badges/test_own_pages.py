"""The pages on which a badge is made, printed, given another PIN and ended."""

import pytest
from django.urls import reverse

from labrecords.models import Badge, LabelPrint
from labrecords.queries import badges
from tests import world as cast
from tests.badges.conftest import OTHER_PIN, PIN

MAKE = {"pin": PIN, "pin_again": PIN, "password": cast.PASSWORD}


@pytest.fixture
def runa(client, world, clock):
    client.force_login(world.runa)
    return client


def test_made_and_shown_with_its_code(runa, world):
    assert "You have no badge." in runa.get(reverse("own-badge")).content.decode()
    assert runa.post(reverse("make-badge"), MAKE).url == reverse("own-badge")
    page = runa.get(reverse("own-badge")).content.decode()
    badge = badges.of(world.runa)
    assert badge.label in page
    assert f"Yours is {badge.label}." in runa.get(reverse("own-factors")).content.decode()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"pin_again": OTHER_PIN}, "The two are not the same."),
        ({"pin": "123456", "pin_again": "123456"}, "not simply counted up or down"),
        ({"pin": "000001", "pin_again": "000001"}, "at least 3 different digits"),
        ({"password": "a guess"}, "The password typed is not the one of this account."),
    ],
)
def test_what_is_not_taken_makes_none(runa, changed, words):
    answer = runa.post(reverse("make-badge"), MAKE | changed)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert PIN not in answer.content.decode()
    assert not Badge.objects.exists()


def test_a_pin_of_the_badges_own_digits_is_said_beside_it(runa, world):
    from labrecords.models import Counter

    Counter.objects.create(name="label PB", value=402914)
    same = {"pin": "402915", "pin_again": "402915"}
    answer = runa.post(reverse("make-badge"), MAKE | same)
    assert "other digits than those of the badge" in answer.content.decode().replace("&#x27;", "'")
    assert not Badge.objects.exists()


def test_another_badge_says_that_this_one_ends(runa, runas):
    assert "The badge you have now ends." in runa.get(reverse("make-badge")).content.decode()


def test_another_pin(runa, runas):
    assert runa.post(reverse("badge-pin"), MAKE | {"pin": OTHER_PIN, "pin_again": OTHER_PIN}).status_code == 302
    assert Badge.objects.get().pin != runas.pin


def test_ended_with_the_password(runa, runas, world):
    assert runa.post(reverse("end-badge"), {"password": "a guess"}).status_code == 422
    assert runa.post(reverse("end-badge"), {"password": cast.PASSWORD}).url == reverse("own-badge")
    assert badges.of(world.runa) is None


@pytest.mark.parametrize("name", ["badge-pin", "end-badge"])
def test_without_a_badge_there_is_none_to_change(runa, name):
    assert runa.get(reverse(name)).url == reverse("own-badge")


def test_the_manager_ends_one_that_was_lost(client, world, runas):
    client.force_login(world.magnus)
    assert f"End {runas.label}" in client.get(reverse("person", args=["runa"])).content.decode()
    where = reverse("end-badge-of", args=[runas.pk])
    assert client.post(where, {"reason": "lost"}).url == reverse("person", args=["runa"])
    assert "lost" in client.get(reverse("person", args=["runa"])).content.decode()
    assert client.get(where).status_code == 404


def test_a_reason_is_asked_for(client, world, runas):
    client.force_login(world.magnus)
    assert client.post(reverse("end-badge-of", args=[runas.pk]), {"reason": " "}).status_code == 422
    assert badges.of(world.runa) == runas


def test_the_managers_own_is_ended_elsewhere(client, world, runas):
    from django.contrib.auth.models import Group

    world.runa.groups.add(Group.objects.get(name="manager"))
    client.force_login(world.runa)
    answer = client.post(reverse("end-badge-of", args=[runas.pk]), {"reason": "lost"})
    assert "This one is your own" in answer.content.decode()
    assert badges.of(world.runa) == runas


def test_printed_with_the_names_of_their_people(client, world, runas, toves):
    client.force_login(world.magnus)
    sheet = {"which": "new", "sheet": "single", "first": "1", "only": ""}
    answer = client.post(reverse("badge-labels"), sheet)
    assert answer.status_code == 302, answer.content.decode()
    kept = LabelPrint.objects.get()
    assert (kept.subject, kept.codes) == ("badges", [runas.label, toves.label])
    assert client.get(reverse("label-print-pdf", args=[kept.pk])).content.startswith(b"%PDF")
