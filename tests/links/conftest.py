"""Three released reports, two of them of one company; links to one, and whoever opens them."""

import re
from dataclasses import dataclass, replace

import pytest
from django.test import Client

from labrecords.actions import clients, links
from labrecords.models import Report, ReportLink, Signature
from labrecords.models.base import new_id
from tests.clock import stopped
from tests.portal import cast as companies

# Of the same company's other report: as texts they occur nowhere in the first one.
OTHER_VALUES = ("6.9183", "6.8274", "6.7365", "6.6456")
ADDRESS = re.compile(r">http://testserver(/shared/([^/<]+)/)<")


@dataclass(frozen=True)
class Cast(companies.Cast):
    """The companies, with another report of Clara's and the words that only it holds."""

    second: Report
    second_secrets: tuple[str, ...]


def build() -> Cast:
    """All three reports, released."""
    first = companies.build()
    world, secret = first.world, companies.Secrets(first="yj")
    project = clients.add_project(
        client=world.clara.client, code="YJCODEVX", title=secret("project"), by=world.edda, at=world.at
    )
    secret.words.append("YJCODEVX")
    other = companies.another_study(replace(world, project=project), secret)
    companies.enter_all(other, OTHER_VALUES)
    report = companies.release(other, secret("review"))
    return Cast(**vars(first), second=report, second_secrets=(*secret.words, *OTHER_VALUES))


@pytest.fixture
def cast(built):
    """What a test adds is gone after it."""
    with built.standing(build) as cast:
        yield cast


@pytest.fixture
def clock(cast, monkeypatch):
    return stopped(monkeypatch, cast.world.at)


@pytest.fixture
def give(cast, clock):
    """A link to a report, Clara's if none is said, and its secret."""

    def give(**changed) -> tuple[ReportLink, str]:
        given = {"report": cast.clara, "whom": "Ines Falk, auditor", "days": 14, "by": cast.world.clara}
        return links.give(at=clock.now, **given | changed)

    return give


def signed_in(person) -> Client:
    browser = Client()
    browser.force_login(person)
    return browser


def open_at(secret: str, part: str = "", *, method: str = "get", browser: Client | None = None, **headers):
    """The answer to somebody without an account."""
    browser = browser or Client(raise_request_exception=False)
    return getattr(browser, method)(f"/shared/{secret}/{part}", **headers)


def another_issue(report: Report, **changed) -> Report:
    """The same report once more under the next issue's number, as its table would hold it."""
    signature = _copied(Signature.objects.get(pk=report.signature_id))
    return _copied(Report.objects.get(pk=report.pk), issue=report.issue + 1, signature_id=signature.pk, **changed)


def _copied(record, **changed):
    fields = {field.attname: getattr(record, field.attname) for field in record._meta.concrete_fields}
    return type(record).objects.create(**fields | {"id": new_id()} | changed)
