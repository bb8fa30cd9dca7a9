"""Signed out after half an hour without a page, and after ten hours in any case; what was typed is kept."""

import html
import re

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.actions import people
from labrecords.models import Study
from labrecords.views import sessions
from tests import world as cast
from tests.clock import stopped
from tests.pages.test_plan import filled


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def clock(monkeypatch):
    return stopped(monkeypatch, cast.NOW)


def status(client) -> int:
    return client.get(reverse("studies")).status_code


def test_whoever_was_idle_for_half_an_hour_signs_in_again(client, world, clock):
    client.force_login(world.edda)
    assert status(client) == 200
    clock.forward(minutes=29)
    assert status(client) == 200
    clock.forward(minutes=31)
    answer = client.get(reverse("studies"))
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("sign-in"))
    assert not client.session.get("_auth_user_id")


def test_after_ten_hours_everybody_signs_in_again(client, world, clock):
    client.force_login(world.edda)
    for _ in range(30):
        assert status(client) == 200
        clock.forward(minutes=20)
    assert status(client) == 200  # ten hours to the minute
    clock.forward(minutes=1)
    assert status(client) == 302


def test_the_last_request_is_remembered_to_the_minute_and_not_written_each_time(client, world, clock):
    client.force_login(world.edda)
    status(client)
    first = client.session[sessions.SEEN]
    clock.forward(seconds=30)
    status(client)
    assert client.session[sessions.SEEN] == first
    clock.forward(seconds=40)
    status(client)
    assert client.session[sessions.SEEN] != first


def test_a_program_s_token_has_no_session_to_end(world, clock):
    token = people.give_token(person=world.edda, label="own", by=world.magnus, at=world.at)
    browser = Client(headers={"Authorization": f"Token {token}"})
    for _ in range(2):
        assert browser.get("/api/equipment/").status_code == 200
        clock.forward(hours=11)


def signed_out(client, world, clock, person):
    client.force_login(person)
    status(client)
    clock.forward(minutes=31)


def sent(client, world) -> str:
    answer = client.post(reverse("new-study"), filled(world, **{"study-purpose": "A question <of> its own"}))
    assert answer.status_code == 401
    return answer.content.decode()


def carried(page: str) -> dict[str, str]:
    found = re.findall(r'<input type="hidden" name="(typed|path)" value="([^"]*)"', page)
    return {name: html.unescape(value) for name, value in found}


def test_what_was_typed_is_carried_over_the_sign_in_and_sent_again(client, world, clock):
    signed_out(client, world, clock, world.edda)
    before = Study.objects.count()
    page = sent(client, world)
    assert "A question &lt;of&gt; its own" in page
    assert Study.objects.count() == before
    again = carried(page) | {"username": "edda", "password": cast.PASSWORD}
    answer = client.post(reverse("sign-in-again"), again)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "You are signed in as Edda Lunde." in page
    fields: dict[str, list[str]] = {}
    for name, value in re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', page):
        fields.setdefault(name, []).append(html.unescape(value))
    assert client.post(again["path"], fields).status_code == 302
    assert Study.objects.order_by("-code").first().purpose == "A question <of> its own"


def test_a_wrong_password_loses_nothing_typed(client, world, clock):
    signed_out(client, world, clock, world.edda)
    again = carried(sent(client, world)) | {"username": "edda", "password": "not this one at all"}
    answer = client.post(reverse("sign-in-again"), again)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert carried(page) == {name: again[name] for name in ("typed", "path")}
    assert "not this one at all" not in page


def test_a_password_is_not_carried(client, world, clock):
    signed_out(client, world, clock, world.signe)
    address = reverse("release-study", args=[world.study.code])
    page = client.post(address, {"password": "a very secret phrase", "seen": "x"}).content.decode()
    assert "a very secret phrase" not in page
    assert '[["seen", "x"]]' in html.unescape(page)


@pytest.mark.parametrize(
    "wrong",
    [
        {"path": "https://elsewhere.example/"},
        {"path": "//elsewhere.example/"},
        {"path": "javascript:alert(1)"},
        {"typed": "not json"},
        {"typed": '{"a": 1}'},
        {"typed": '[["a"]]'},
        {"typed": '[["a", 1]]'},
    ],
)
def test_nobody_is_sent_elsewhere_with_what_they_typed(client, world, wrong):
    again = {"typed": "[]", "path": "/studies/new/", "username": "edda", "password": cast.PASSWORD}
    assert client.post(reverse("sign-in-again"), again | wrong).status_code == 400
    assert "_auth_user_id" not in client.session


def test_a_form_from_elsewhere_is_refused_as_ever(world):
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(reverse("new-study"), {"study-title": "x"}).status_code == 403
