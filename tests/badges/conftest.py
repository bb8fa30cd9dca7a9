"""The small laboratory, a clock, and two technicians with badges."""

import pytest

from labrecords.actions import badges, people
from tests import world as cast
from tests.clock import stopped

PIN, OTHER_PIN = "482915", "730264"


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def clock(monkeypatch):
    return stopped(monkeypatch, cast.NOW)


@pytest.fixture
def runas(world, clock):
    """The badge of Runa, whose run is open."""
    return badges.make(pin=PIN, password=cast.PASSWORD, by=world.runa, at=clock.now)


@pytest.fixture
def tove(world):
    """A second technician, authorised like the first."""
    return people.add_person(
        username="tove", name="Tove Lind", password=cast.PASSWORD, roles=["technician"], by=world.magnus, at=world.at
    )


@pytest.fixture
def toves(tove, clock):
    return badges.make(pin=OTHER_PIN, password=cast.PASSWORD, by=tove, at=clock.now)
