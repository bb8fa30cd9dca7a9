"""The small laboratory, a clock to be moved on, and people with an app, a passkey, or both."""

import pytest

from tests import world as cast
from tests.clock import stopped
from tests.second_factors.own import Own


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def clock(monkeypatch):
    return stopped(monkeypatch, cast.NOW)


@pytest.fixture
def signe(world, clock):
    """The signatory, who can be given second factors."""
    return Own(world.signe, clock)
