"""Roles that must have a second factor: no other page opens before; programs with a token go on."""

import os
import subprocess
import sys

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.actions import people
from labrecords.actions import second_factors as actions
from labrecords.models import Event
from tests import world as cast
from tests.second_factors.own import Own


@pytest.fixture
def asked_of(settings):
    def these(*roles):
        settings.SECOND_FACTOR_ROLES = frozenset(roles)

    return these


@pytest.mark.parametrize(("who", "page"), [("signe", "studies"), ("clara", "portal:reports")])
def test_nothing_else_opens_before_a_second_factor_is_there(world, clock, asked_of, who, page):
    asked_of("signatory", "client")
    own = Own(world.people[who], clock)
    browser = own.browser()
    for name in ("home", "reviews", "portal:reports", "check-report", "recovery-codes", "api:reference"):
        answer = browser.get(reverse(name))
        assert (answer.status_code, answer.url) == (302, reverse("own-factors"))
    assert "Your role asks for a second factor." in browser.get(reverse("own-factors")).content.decode()
    for name in ("add-app", "add-passkey", "help"):
        assert browser.get(reverse(name)).status_code == 200
    own.add_app()
    assert browser.get(reverse(page)).status_code == 200


def test_a_form_sent_before_is_not_acted_on(world, signe, asked_of):
    asked_of("engineer")
    before = Event.objects.count()
    answer = Own(world.edda, signe.clock).browser().post(reverse("lock-study", args=[world.study.code]))
    assert answer.status_code == 403
    assert "Nothing was recorded" in answer.content.decode()
    assert Event.objects.count() == before


def test_other_roles_are_not_asked(world, signe, asked_of):
    asked_of("signatory")
    assert Own(world.edda, signe.clock).browser().get(reverse("studies")).status_code == 200


def test_by_default_nobody_is_asked(world, signe):
    assert signe.browser().get(reverse("studies")).status_code == 200


def test_one_whose_factor_was_ended_is_asked_again(world, signe, asked_of):
    asked_of("signatory")
    factor = signe.add_app()
    browser = signe.browser()
    assert browser.get(reverse("studies")).status_code == 200
    actions.end_for(factor=factor, reason="lost", by=world.magnus, at=world.at)
    assert browser.get(reverse("studies")).url == reverse("own-factors")


def test_a_token_is_not_asked_for_a_second_factor(world, signe, asked_of):
    asked_of("engineer")
    edda = Own(world.edda, signe.clock)
    token = people.give_token(person=world.edda, label="own", by=world.magnus, at=world.at)
    browser = Client(headers={"Authorization": f"Token {token}"})
    assert browser.get("/api/equipment/").status_code == 200
    edda.add_app()
    assert browser.get("/api/equipment/").status_code == 200


def test_a_role_that_is_none_stops_the_start():
    environment = os.environ | {"SECOND_FACTOR_ROLES": "signatory, boss", "SECRET_KEY": "x"}
    done = subprocess.run(
        [sys.executable, "-c", "import labrecords.settings"],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode != 0
    assert "SECOND_FACTOR_ROLES names boss." in done.stderr


def test_the_password_alone_is_enough_to_come_to_the_page(world, signe, asked_of):
    asked_of("signatory")
    browser = Client()
    answer = browser.post(reverse("sign-in"), {"username": "signe", "password": cast.PASSWORD}, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("own-factors")
