"""A photograph from the page of a run: by a plain form, and from the device that sends it until it is answered."""

import json
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from labrecords.models import Event, Photo, Refusal
from tests import world as cast
from tests.clock import stopped
from tests.photos import pictures

CONTENT = pictures.jpeg("from a run")
JSON = {"accept": "application/json"}


@pytest.fixture
def world(laboratory, client, monkeypatch):
    stopped(monkeypatch, laboratory.at)
    client.force_login(laboratory.runa)
    return laboratory


@pytest.fixture
def send(client, world):
    def sent(*, by_script=True, person=None, **changed):
        fields = {"key": str(uuid.uuid4()), "strip": world.specimens[0].label, "caption": "Webs apart."}
        fields |= {"chosen": SimpleUploadedFile("strip.jpg", CONTENT)}
        headers = (JSON | {"x-person": str((person or world.runa).pk)}) if by_script else {}
        return client.post(reverse("photograph-strip", args=[world.run.pk]), fields | changed, headers=headers)

    return sent


def test_the_page_of_a_run_offers_the_strip_that_was_pulled_last(client, world):
    where = reverse("run", args=[world.run.pk])
    before = client.get(where).content.decode()
    assert '<details class="sheet" hidden>' in before  # there for the script, which shows it once something is pulled
    cast.enter(world, specimen=world.specimens[0])
    cast.enter(world, specimen=world.specimens[1], typed="1.61")
    page = client.get(where)
    assert page.context["photo_form"]["strip"].value() == world.specimens[1].label
    assert '<details class="sheet">' in page.content.decode()


def test_it_is_kept_by_a_plain_form(client, world, send):
    cast.enter(world)
    answer = send(by_script=False)
    assert (answer.status_code, answer.url) == (302, reverse("run", args=[world.run.pk]))
    photo = Photo.objects.get()
    assert (photo.result.specimen, photo.caption, photo.by) == (world.specimens[0], "Webs apart.", world.runa)


def test_a_device_that_sends_it_again_gets_the_same_answer_and_it_is_kept_once(world, send):
    cast.enter(world)
    key = str(uuid.uuid4())
    first, again = send(key=key), send(key=key, chosen=SimpleUploadedFile("strip.jpg", CONTENT))
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json()["said"] == f"The photograph is kept with {world.specimens[0].label}."
    assert again.json() == first.json()
    assert (Photo.objects.count(), Event.objects.filter(act="photo.attached").count()) == (1, 1)


@pytest.mark.parametrize("by_script", [True, False])
def test_before_its_result_it_is_refused_and_says_so(world, send, by_script):
    answer = send(by_script=by_script)
    assert answer.status_code == 422
    assert "there is no result to attach it to" in answer.content.decode()
    assert Refusal.objects.get().codes == ["photograph-too-early"]
    assert not Photo.objects.exists()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"strip": "SP-999999-X"}, "No specimen has the label SP-999999-X."),
        ({"chosen": ""}, "Take a photograph, or choose a file."),
        ({"chosen": CONTENT + bytes(15_000_000)}, "the most is 15 MB"),
        ({"key": "mine"}, "UUID"),
    ],
)
def test_what_cannot_be_kept_is_said_to_a_script_and_on_a_page(world, send, changed, words):
    cast.enter(world)
    for by_script in (True, False):
        file = {"chosen": SimpleUploadedFile("a.jpg", changed["chosen"])} if changed.get("chosen") else {}
        answer = send(by_script=by_script, **changed | file)
        assert answer.status_code == 422
        assert words in answer.content.decode()
    assert not Photo.objects.exists()


def test_what_was_typed_stays_on_the_page(world, send):
    cast.enter(world)
    page = send(by_script=False, chosen="").content.decode()
    assert 'value="Webs apart."' in page
    assert f'value="{world.specimens[0].label}"' in page


def test_another_person_s_waits_until_they_are_back(world, send):
    cast.enter(world)
    answer = send(person=world.timo)
    assert (answer.status_code, answer.json()["outcome"]) == (401, "sign-in")
    assert not Photo.objects.exists()


def test_one_set_aside_is_on_record_by_its_name(client, world):
    typed = {"specimen": world.specimens[0].label, "caption": "Webs apart.", "photograph": "strip.jpg"}
    sent = {"key": str(uuid.uuid4()), "typed": json.dumps(typed), "reason": "Blurred."}
    answer = client.post(reverse("set-aside", args=[world.run.pk]), sent, headers=JSON)
    assert answer.json() == {"outcome": "set-aside"}
    assert Refusal.objects.get().tried == f"photograph strip.jpg for {world.specimens[0].label}"
