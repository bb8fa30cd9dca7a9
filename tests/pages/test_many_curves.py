"""The curves of one file, kept a few at a time by a script: each once, whatever is sent again, and read once."""

import re

import pytest
from django.urls import reverse

from labrecords.files import kept, reader
from labrecords.models import Entry, Refusal, Result, TraceFile
from tests.clock import stopped
from tests.pages.test_bench import receive, trace_file

JSON = {"accept": "application/json"}


@pytest.fixture
def world(laboratory, monkeypatch):
    stopped(monkeypatch, laboratory.at)
    return laboratory


@pytest.fixture
def form(client, world):
    """The page's form as it stands, every curve ticked; and where it is sent."""
    receive(client, world, trace_file(world, specimens=world.specimens))
    where = reverse("match-traces", args=[world.run.pk, TraceFile.objects.get().pk])
    page = client.get(where).content.decode()
    count = len(world.specimens)
    data = {"keep": "1", "curves-TOTAL_FORMS": count, "curves-INITIAL_FORMS": count}
    data["shown_at"] = re.search(r'name="shown_at" value="([^"]+)"', page)[1]
    for number in range(count):
        for name in ("specimen", "key"):
            data[f"curves-{number}-{name}"] = re.search(rf'name="curves-{number}-{name}" value="([^"]+)"', page)[1]
        data |= {f"curves-{number}-keep": "on", f"curves-{number}-modes": ["AP"]}
    return where, data


def only(data, *numbers):
    """The form with none but these curves ticked."""
    ticks = {f"curves-{number}-keep" for number in numbers}
    return {name: value for name, value in data.items() if not name.endswith("-keep") or name in ticks}


def test_a_few_are_kept_and_the_others_wait(client, world, form):
    where, data = form
    answer = client.post(where, only(data, 0, 2), headers=JSON)
    assert answer.json() == {"outcome": "done", "kept": ["curves-0", "curves-2"], "refused": []}
    assert set(Result.objects.values_list("specimen", flat=True)) == {world.specimens[0].pk, world.specimens[2].pk}


def test_what_was_sent_is_answered_alike_and_kept_once_though_time_goes_on(client, world, form, monkeypatch):
    where, data = form
    first = client.post(where, data, headers=JSON).json()
    stopped(monkeypatch, world.at.replace(minute=7))
    assert client.post(where, data, headers=JSON).json() == first
    page = client.post(where, data)
    assert page.status_code == 200
    assert [outcome["kept"].specimen for outcome in page.context["outcomes"]] == list(world.specimens)
    assert (Result.objects.count(), Entry.objects.count()) == (len(world.specimens), len(world.specimens))
    assert not Refusal.objects.exists()


def test_a_refused_one_is_told_and_its_reasons_are_given_again_on_the_page(client, world, form):
    where, data = form
    data["curves-1-specimen"] = "SP-999999-X"
    answer = client.post(where, data, headers=JSON).json()
    assert (answer["refused"], len(answer["kept"])) == (["curves-1"], len(world.specimens) - 1)
    page = client.post(where, only(data, 1))
    assert page.status_code == 422
    assert "SP-999999-X" in page.content.decode()
    assert Refusal.objects.count() == 1  # the same key: the same answer, and no second refusal


def test_a_row_that_lacks_something_keeps_nothing(client, world, form):
    where, data = form
    del data["curves-1-modes"]
    answer = client.post(where, data, headers=JSON)
    assert (answer.status_code, answer.json()) == (422, {"outcome": "not-understood"})
    assert not Result.objects.exists()


@pytest.mark.parametrize(
    "text", ["", "yesterday", "2026-05-20T09:00:00", "0001-01-01T00:00:00+14:00", "9999-12-31T23:00:00-12:00"]
)
def test_a_moment_that_cannot_be_read_is_now(client, world, form, text):
    where, data = form
    client.post(where, only(data, 0) | {"shown_at": text})
    assert Result.objects.get().tested_at == world.at


def test_a_file_is_read_once_for_all_its_curves(client, world, form, monkeypatch):
    where, data = form
    kept._read.cache_clear()
    seen = []
    own = reader.read
    monkeypatch.setattr(kept.reader, "read", lambda *args, **more: seen.append(1) or own(*args, **more))
    client.post(where, data)
    assert len(seen) == 1
    kept._read.cache_clear()


@pytest.mark.parametrize(("most", "status", "kept_now"), [(None, 200, 4), (1000, 400, 0)], ids=["as set", "control"])
def test_a_form_of_five_hundred_curves_is_taken(client, world, form, settings, most, status, kept_now):
    """As many as the page shows; with one field too many all that was typed would be lost."""
    where, data = form
    names = ("keep", "specimen", "key", "modes", "remark", "width_mm")
    more = {f"curves-{row}-{name}": "" for row in range(len(world.specimens), 500) for name in names}
    settings.DATA_UPLOAD_MAX_NUMBER_FIELDS = most or settings.DATA_UPLOAD_MAX_NUMBER_FIELDS
    assert client.post(where, more | data).status_code == status
    assert Result.objects.count() == kept_now
