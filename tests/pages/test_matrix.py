"""Every address for everybody, by every method: who may not, learns nothing, not even whether the thing is there.

Pages, client pages and the programming interface alike. A new address fails the first tests until it is in the tables
here: the act it asks for comes from the code itself, what its parts name from `tests/pages/things.py`.
"""

from dataclasses import dataclass

import pytest
from django.apps import apps
from django.db import connection
from django.test import Client
from django.urls import reverse

from labrecords.actions import people
from labrecords.models import ApiToken, CalendarFeed, User
from labrecords.queries import access
from labrecords.rules.authority import ACTS
from tests.pages import addresses
from tests.tokens import without_token

METHODS = ("get", "head", "post", "put", "patch", "delete", "options")
ROLES = ("runa", "edda", "magnus", "signe", "clara", "otto", "tester_one")
CLIENTS = ("clara", "otto")
ADDRESSES = addresses.every()
# Pages for everybody who has signed in, or for anybody at all; what they show depends on who asks.
FOR_ALL = {"home", "help", "sign-out", "own-factors", "add-app", "add-passkey", "recovery-codes", "end-factor"}
FOR_ANYBODY = {
    *("sign-in", "sign-in-again", "sign-in-second", "passkey-challenge", "check-report", "calendar"),
    "outbox-worker",
    "who",
}
# For people of the laboratory who are signed in, and for whoever reads by program.
FOR_STAFF_OR_PROGRAM = {"api:reference", "api:schema"}
# What a POST asks for beyond what opening the address does.
POSTED = {
    "derived-limit": "approve a limit",
    "budget": "approve a budget",
    "correction": "agree to a correction",
    "pull-order": "draw an order",
    "api:results": "enter a result",
    "api:checks": "take a check",
    "api:photographs": "enter a result",
}
# What is there only for a study that was planned another way, or where two groups are named.
OF_ANOTHER_STUDY = {
    *("amend-report", "compare-for-client", "pull-order", "validation", "window", "withdraw-report"),
    *("links-to-report", "report-records", "report-archives"),
    "check-scanner",  # only a tester has one
    *("api:comparison", "api:validation", "api:window", "api:anything else"),
}
# Pages beside those of the portal that a client has of their own.
OF_OWN = {"links-to-own-report", "revoke-own-link", "own-protocol"}
# How each answers a GET without a sign-in, and with one; a client or a device is led from home to its own pages.
OPEN = {
    "home": ({302}, {200, 302}),
    "help": ({200}, {200}),
    "sign-in": ({200}, {200}),
    "sign-in-again": ({405}, {405}),
    "sign-in-second": ({302}, {302}),
    "passkey-challenge": ({405}, {405}),
    "sign-out": ({302}, {405}),
    "own-factors": ({302}, {200}),
    "add-app": ({302}, {200}),
    "add-passkey": ({302}, {200}),
    "recovery-codes": ({302}, {200}),
    "end-factor": ({302}, {404}),  # somebody else's
    "check-report": ({200}, {200}),
    "outbox-worker": ({200}, {200}),
    "who": ({302}, {200, 302}),  # only where somebody of the bench has signed in
}
GUARDED = sorted(name for name, address in ADDRESSES.items() if address.act)
# How the faces answer whoever may not, and whoever has not said who they are. 405 is the page's own, for all alike.
NOT_ALLOWED = {"page": {403, 405}, "portal": {404, 405}, "api": {403}}
NOT_KNOWN = {"page": {302, 401}, "portal": {302, 401}, "api": {401}}


@dataclass(frozen=True)
class Caller:
    """Somebody at a browser, or a program with a token."""

    client: Client
    person: object = None
    by_token: bool = False

    def known_to(self, address) -> bool:
        """Whether the face of the address takes this way of saying who one is."""
        return self.person is not None and self.by_token == (address.kind == "api")

    def may(self, address) -> bool:
        return self.known_to(address) and access.may(self.person, address.act)

    def may_post(self, address) -> bool:
        return self.may(address) and access.may(self.person, POSTED.get(address.name, address.act))

    def refused(self, address) -> set[int]:
        return (NOT_ALLOWED if self.known_to(address) else NOT_KNOWN)[address.kind]

    def told(self, method: str, where: str):
        """All of an answer that one can tell apart; the form's token and the address itself differ always."""
        answer = getattr(self.client, method)(where)
        content = without_token(answer.content).replace(where.encode(), b"(address)")
        headers = {name: value.replace(where, "(address)") for name, value in answer.headers.items()}
        headers.pop("Content-Length", None)  # the address is part of it where a sign-in is asked for
        return answer.status_code, content, headers


def signed_in(person) -> Caller:
    browser = Client()
    browser.force_login(person)
    browser.get(reverse("help"))
    return Caller(browser, person)


def with_token(world, person) -> Caller:
    token = people.give_token(person=person, label="matrix", by=world.magnus, at=world.at)
    return Caller(Client(headers={"Authorization": f"Token {token}"}), person, by_token=True)


def with_ended_token(world, person) -> Caller:
    caller = with_token(world, person)
    people.revoke_token(token=ApiToken.objects.get(person=person), by=world.magnus, at=world.at)
    return Caller(caller.client)


CALLERS = ["nobody", *ROLES, *(f"{name} by token" for name in ROLES), "an ended token"]


@pytest.fixture
def caller(two, request):
    world, name = two.cast.world, request.param
    if name == "nobody":
        return Caller(Client())
    if name == "an ended token":
        return with_ended_token(world, world.tester_one)
    person = world.people[name.removesuffix(" by token")]
    return with_token(world, person) if name.endswith("token") else signed_in(person)


def asked_of(caller) -> list:
    """The addresses that tell callers apart: a token says something to one face only, and Otto's role is Clara's."""
    name = getattr(caller.person, "username", "")
    others = (caller.by_token and name != "tester_one") or name == "otto"
    left_out = {"page", "portal"} if others and caller.by_token else {"page"} if others else set()
    return [ADDRESSES[name] for name in GUARDED if ADDRESSES[name].kind not in left_out]


def things_of(two, caller) -> tuple[dict, dict]:
    """What is the caller's own, and what is another company's."""
    is_otto = getattr(caller.person, "username", "") == "otto"
    return (two.otto, two.clara) if is_otto else (two.clara, two.otto)


def filled(address, things) -> str:
    return address.filled({part: things[address.thing(part)] for part in address.parts} if things else {})


def record() -> dict[str, str]:
    """Every row of every table, boiled down."""
    tables = sorted(model._meta.db_table for model in apps.get_app_config("labrecords").get_models())
    with connection.cursor() as cursor:
        boiled = {}
        for table in tables:
            cursor.execute(f'SELECT count(*), md5(string_agg(t::text, chr(10) ORDER BY t::text)) FROM "{table}" t')
            boiled[table] = cursor.fetchone()
    return boiled


def test_every_address_asks_for_an_act_or_is_listed_as_open():
    unguarded = {name for name, address in ADDRESSES.items() if not address.act}
    assert unguarded == FOR_ALL | FOR_ANYBODY | FOR_STAFF_OR_PROGRAM
    assert {ADDRESSES[name].act for name in GUARDED} | set(POSTED.values()) <= ACTS.keys()
    assert POSTED.keys() <= set(GUARDED)


def test_every_open_page_is_in_the_table():
    assert OPEN.keys() == FOR_ALL | FOR_ANYBODY - {"calendar"}


def test_every_part_of_every_address_names_something_that_is_there(two):
    for things in (two.clara, two.otto):
        named = {address.thing(part) for address in ADDRESSES.values() for part in address.parts}
        assert named == things.keys()
    same = {name for name in two.clara if two.clara[name] == two.otto[name]}
    assert same == {"reports issue", "reports name", "limits version", "protocols version"}


@pytest.mark.parametrize("caller", CALLERS, indirect=True)
def test_who_may_not_learns_nothing_and_changes_nothing(two, caller):
    before, (own, foreign) = record(), things_of(two, caller)
    for address in asked_of(caller):
        for method in METHODS:
            if not caller.may(address):
                told = caller.told(method, filled(address, own))
                for things in (foreign, None) if address.parts else ():
                    assert caller.told(method, filled(address, things)) == told, (address.name, method)
                assert told[0] in caller.refused(address), (address.name, method, told[0])
            elif method == "post" and not caller.may_post(address):  # may look, may not act
                told = [caller.told(method, filled(address, things)) for things in (own, foreign, None)]
                assert {status for status, *_ in told} <= {403, 404}, (address.name, method)
    assert record() == before


@pytest.mark.parametrize("caller", CALLERS, indirect=True)
def test_who_may_is_told_that_what_is_missing_is_missing(two, caller):
    before, (_, foreign) = record(), things_of(two, caller)
    for address in asked_of(caller):
        for method in METHODS:
            if not address.parts or not caller.may(address):
                continue
            missing = caller.told(method, filled(address, None))
            is_post = method == "post" and not caller.may_post(address)
            describes = address.kind == "api" and method == "options"  # what the address answers, there or not
            expected = {200} if describes else {404, 405} | ({403} if is_post else set())
            assert missing[0] in expected, (address.name, method, missing[0])
            if address.kind == "portal" or address.name in OF_OWN or describes:
                assert caller.told(method, filled(address, foreign)) == missing, (address.name, method)
    assert record() == before


@pytest.mark.parametrize("caller", CALLERS[1:-1], indirect=True)
def test_control_who_may_opens_what_is_there(two, caller):
    own, foreign = things_of(two, caller)
    for name in GUARDED:
        address = ADDRESSES[name]
        if not caller.may(address):
            continue
        for things in (own,) if address.kind == "portal" or name in OF_OWN else (own, foreign):
            status = caller.told("get", filled(address, things))[0]
            expected = {404} if name in OF_ANOTHER_STUDY else {200, 302, 405}
            assert status in expected, (name, status)


@pytest.mark.parametrize("caller", CALLERS, indirect=True)
def test_what_is_open_is_open_to_those_for_whom_it_is(two, caller):
    before, (own, _) = record(), things_of(two, caller)
    for name, (without, with_sign_in) in OPEN.items():
        expected = with_sign_in if caller.person and not caller.by_token else without
        assert caller.told("get", filled(ADDRESSES[name], own))[0] in expected, name
    for name in FOR_STAFF_OR_PROGRAM:
        status = caller.told("get", ADDRESSES[name].route)[0]
        takes_token = name == "api:schema"
        if caller.person is None or (caller.by_token and not takes_token):
            assert status in {302, 401}, name
        else:
            acts = ("read by program", "see the laboratory")
            allowed = any(access.may(caller.person, act) for act in acts)
            assert status == 200 if allowed else status in {403, 404}, name
    assert record() == before


def test_an_ended_calendar_reads_as_one_that_never_was(two):
    caller, address = Caller(Client()), ADDRESSES["calendar"]
    assert caller.told("get", filled(address, two.otto))[0] == 200
    CalendarFeed.objects.filter(person__username=two.otto["people username"]).update(revoked_at=two.cast.world.at)
    ended = caller.told("get", filled(address, two.otto))
    assert ended[0] == 404
    assert ended == caller.told("get", filled(address, None))
    assert {caller.told(method, filled(address, two.clara))[0] for method in ("post", "put", "delete")} == {405}


def test_control_a_page_whose_guard_was_forgotten_is_noticed(monkeypatch):
    monkeypatch.delattr(ADDRESSES["studies"].pattern.callback, "needs")
    with pytest.raises(AssertionError):
        test_every_address_asks_for_an_act_or_is_listed_as_open()


def test_control_a_guard_that_lets_everybody_in_is_noticed(two, monkeypatch):
    monkeypatch.setattr(access, "demand", lambda person, act: None)
    for name in ("clara", "clara by token"):
        person = two.cast.world.clara
        caller = with_token(two.cast.world, person) if name.endswith("token") else signed_in(person)
        with pytest.raises(AssertionError):
            test_who_may_not_learns_nothing_and_changes_nothing(two, caller)


def test_control_a_row_more_or_a_changed_one_is_noticed(two):
    before = record()
    User.objects.filter(pk=two.cast.world.timo.pk).update(name="Timo A.")
    changed = record()
    assert {table for table in before if before[table] != changed[table]} == {"labrecords_user"}
