"""Every page of the laboratory for every role: who may not, learns nothing, not even whether the thing is there.

A new address fails the first test until it is in the tables here: the act it asks for comes from the page itself.
"""

import re
import uuid

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from labrecords.models import Event
from labrecords.queries import access
from labrecords.rules.authority import ACTS

ROLES = ("runa", "edda", "magnus", "signe", "clara", "tester_one")
CSRF = re.compile(rb'(name="csrfmiddlewaretoken" value=")[A-Za-z0-9]{64}"')
# Pages for everybody who has signed in, or for anybody at all; what they show depends on who asks.
FOR_ALL = {"home", "help", "sign-out"} | {"own-factors", "add-app", "add-passkey", "recovery-codes", "end-factor"}
FOR_ANYBODY = {"sign-in", "sign-in-again", "sign-in-second", "passkey-challenge", "check-report", "calendar"}
# What a POST asks for beyond what opening the page does.
POSTED = {
    "derived-limit": "approve a limit",
    "budget": "approve a budget",
    "correction": "agree to a correction",
    "pull-order": "draw an order",
}


def pages() -> dict[str, URLPattern]:
    return {pattern.name: pattern for pattern in get_resolver().url_patterns if isinstance(pattern, URLPattern)}


def asked(name: str) -> str | None:
    return getattr(pages()[name].callback, "needs", None)


GUARDED = sorted(name for name in pages() if asked(name))


def test_every_page_asks_for_an_act_or_is_listed_as_open():
    unguarded = {name for name in pages() if not asked(name)}
    assert unguarded == FOR_ALL | FOR_ANYBODY
    assert {asked(name) for name in GUARDED} | set(POSTED.values()) <= ACTS.keys()
    assert POSTED.keys() <= set(GUARDED)


@pytest.fixture
def world(laboratory):
    return laboratory


def existing(world) -> dict[str, object]:
    """Something that is there, for every part of an address."""
    return {
        "code": world.study.code,
        "label": world.specimens[0].label,
        "run_id": world.run.pk,
        "username": "timo",
        "version": 1,
    }


def missing(name: str) -> dict[str, object]:
    """Nothing that is there."""
    kinds = {"uuid": uuid.UUID(int=7), "int": 99}
    parts = re.findall(r"<(?:(\w+):)?(\w+)>", str(pages()[name].pattern))
    return {part: kinds.get(kind, "S-2026-9999") for kind, part in parts}


def address(name: str, values) -> str:
    wanted = missing(name)
    return reverse(name, kwargs={part: values.get(part, other) for part, other in wanted.items()})


def outcome(answer):
    """All of an answer that a person can tell apart; the form's token differs in every page."""
    return answer.status_code, CSRF.sub(rb'\1"', answer.content)


def signed_in(person) -> Client:
    browser = Client()
    browser.force_login(person)
    browser.get(reverse("help"))
    return browser


@pytest.mark.parametrize("role", ROLES)
def test_who_may_not_learns_nothing_and_changes_nothing(world, role):
    person = world.people[role]
    browser, before, there = signed_in(person), Event.objects.count(), existing(world)
    for name in GUARDED:
        act = asked(name)
        for method in ("get", "post"):
            wanted = POSTED.get(name, act) if method == "post" else act
            if access.may(person, wanted):
                continue
            own = getattr(browser, method)(address(name, there))
            none = getattr(browser, method)(address(name, {}))
            if access.may(person, act):  # may look, may not act: what is not there is not there for them either
                assert own.status_code in (403, 404), (name, method)
                assert none.status_code in (403, 404), (name, method)
                continue
            assert outcome(own) == outcome(none), (name, method)
            assert own.status_code in (403, 405), (name, method)
    assert Event.objects.count() == before


@pytest.mark.parametrize("role", ROLES)
def test_who_may_is_told_that_what_is_missing_is_missing(world, role):
    person = world.people[role]
    browser = signed_in(person)
    for name in GUARDED:
        if missing(name) and access.may(person, asked(name)):
            assert browser.get(address(name, {})).status_code in (404, 405), name


def test_nobody_gets_in_without_signing_in(world):
    there = existing(world)
    for name in GUARDED:
        for method in ("get", "post"):
            answers = [getattr(Client(), method)(address(name, values)) for values in (there, {})]
            for answer in answers:
                assert answer.status_code in (302, 401), (name, method)
            assert answers[0].status_code == answers[1].status_code


def test_control_a_page_whose_guard_was_forgotten_is_noticed(monkeypatch):
    monkeypatch.delattr(pages()["studies"].callback, "needs")
    with pytest.raises(AssertionError):
        test_every_page_asks_for_an_act_or_is_listed_as_open()


def test_control_the_same_person_opens_what_they_may(world):
    browser = signed_in(world.edda)
    assert browser.get(reverse("study", args=[world.study.code])).status_code == 200
