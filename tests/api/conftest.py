"""The small laboratory with tokens, and a caller that knows nothing but tokens."""

import uuid
from dataclasses import dataclass

import pytest
from django.test import Client

from labrecords.actions import people
from tests import world as cast
from tests.clock import stopped


@pytest.fixture
def world(laboratory, monkeypatch):
    """The laboratory at its own time of day."""
    stopped(monkeypatch, laboratory.at)
    return laboratory


@dataclass
class Caller:
    """Calls with one person's token; forged-request checks are on, as in a browser."""

    token: str

    def __post_init__(self):
        self.client = Client(enforce_csrf_checks=True, headers={"Authorization": f"Token {self.token}"})

    def get(self, path, **query):
        return self.client.get(f"/api/{path}", query)

    def post(self, body, *, path="results/"):
        return self.client.post(f"/api/{path}", body, content_type="application/json")

    def send_form(self, parts):
        return self.client.post("/api/results/", parts)


def token_for(world, name) -> str:
    return people.give_token(person=world.people[name], label="bench computer", by=world.magnus, at=world.at)


@pytest.fixture
def call(world):
    """Makes a caller of a name; the tester's own computer unless said otherwise."""
    return lambda name="tester_one": Caller(token_for(world, name))


def entry(world, *, specimen=None, run=None, tested_by=None, key=None, **changed):
    """The body of an entry that is kept, unless something is changed; the same names as `tests.world.enter`."""
    reading = cast.reading(world, **changed)
    body = {
        "key": str(key or uuid.uuid4()),
        "run": str((run or world.run).pk),
        "specimen": specimen if isinstance(specimen, str) else (specimen or world.specimens[0]).label,
        "tested_at": reading.tested_at.isoformat(),
        "technique": reading.technique,
        "rate": str(reading.rate),
        "rate_unit": reading.rate_unit,
        "width_mm": str(reading.width_mm),
        "modes": list(reading.modes),
        "opened": reading.opened,
        "value": reading.typed,
        "unit": reading.unit,
        "remark": reading.remark,
    }
    return body | ({"tested_by": tested_by.username} if tested_by else {})
