"""The small laboratory, a clock to be moved on, and people with an app, a passkey, or both."""

from datetime import timedelta

import pytest

from labrecords import web
from labrecords.views import amendments, people, review, studies
from tests import world as cast
from tests.second_factors.own import Own


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def clock(monkeypatch):
    """The server's clock."""

    class Clock:
        now = cast.NOW

        def on(self, **much):
            self.now += timedelta(**much)

    clock = Clock()
    monkeypatch.setattr(web, "now", lambda: clock.now)
    for view in (amendments, people, review, studies):  # they name it themselves
        monkeypatch.setattr(view, "now", lambda: clock.now)
    return clock


@pytest.fixture
def signe(world, clock):
    """The signatory, who can be given second factors."""
    return Own(world.signe, clock)
