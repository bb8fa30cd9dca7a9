"""Somebody with second factors: what the app shows, what the passkey answers, and a browser of their own."""

import html
import json
import re
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from django.test import Client
from django.urls import reverse

from labrecords.actions import second_factors as actions
from labrecords.rules import passkey
from labrecords.rules.second_factor import Given, Site, code_at, new_secret
from tests import world as cast
from tests.second_factors.authenticator import NAME, ORIGIN, Authenticator

SITE = Site(NAME, frozenset({ORIGIN}))


@dataclass
class Own:
    """A person of the laboratory; `clock` says what time it is for app and server."""

    person: Any
    clock: Any
    secret: str = field(default_factory=new_secret)
    key: Authenticator = field(default_factory=Authenticator)
    codes: list[str] = field(default_factory=list)

    def add_app(self):
        """An app, added a minute ago, so that what it shows now is new."""
        before = self.clock.now - timedelta(minutes=1)
        made, codes = actions.add_app(
            secret=self.secret,
            code=code_at(self.secret, before),
            name="my telephone",
            password=cast.PASSWORD,
            by=self.person,
            at=before,
        )
        self.codes = codes or self.codes
        return made

    def add_passkey(self):
        options, challenge = passkey.creation_options(SITE, handle=b"1", user="u", name="n", known=[])
        made, codes = actions.add_passkey(
            answer=self.key.create(options),
            challenge=challenge,
            site=SITE,
            name="my key",
            password=cast.PASSWORD,
            by=self.person,
            at=self.clock.now,
        )
        self.codes = codes or self.codes
        return made

    @property
    def code(self) -> str:
        """What the app shows now."""
        return code_at(self.secret, self.clock.now)

    def given(self, **changed) -> Given:
        """The code as an action takes it."""
        return Given(**{"code": self.code} | changed)

    def shown(self, **bent) -> Given:
        """The passkey as an action takes it, with a question of its own."""
        asked = {"rpId": NAME, "challenge": "q" * 43}
        return Given(assertion=self.key.get(asked, **bent), challenge=asked["challenge"], site=SITE)

    def browser(self) -> Client:
        """A browser in which the person has signed in already."""
        browser = Client()
        browser.force_login(self.person)
        return browser

    def past_the_password(self, **more) -> Client:
        """A browser in which name and password were given."""
        browser = Client()
        data = {"username": self.person.username, "password": cast.PASSWORD} | more
        answer = browser.post(reverse("sign-in"), data)
        assert (answer.status_code, answer.url) == (302, reverse("sign-in-second"))
        return browser


def asked(browser: Client, ceremony: str = "get") -> dict:
    """The options of a ceremony, as the page's script fetches them."""
    answer = browser.post(reverse("passkey-challenge"), {"ceremony": ceremony})
    assert answer.status_code == 200
    return json.loads(answer.content)


def is_signed_in(browser: Client) -> bool:
    return "_auth_user_id" in browser.session and browser.get(reverse("due")).status_code == 200


def carried(page: str) -> dict[str, str]:
    found = re.findall(r'<input type="hidden" name="(typed|path)" value="([^"]*)"', page)
    return {name: html.unescape(value) for name, value in found}
