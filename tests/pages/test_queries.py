"""The number of queries of a page does not grow with the number of results."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from labrecords.models import Deviation, Entry, Result, Study
from tests import world as cast

GROUPS = [
    {"lot": "L1", "arm": "as made", "position": "side", "packs": 110, "specimens_per_pack": 1},
    {"lot": "L1", "arm": "as made", "position": "chevron", "packs": 110, "specimens_per_pack": 1},
]


@pytest.fixture
def world(db, monkeypatch):
    monkeypatch.setattr(cast, "GROUPS", GROUPS)
    return cast.build()


def results(world, count):
    """Results as the gate would keep them, added at once; the pages only read."""
    waiting = [item for item in world.specimens if not Result.objects.filter(specimen=item).exists()]
    for number, specimen in enumerate(waiting[:count]):
        cast.enter(world, specimen=specimen, typed=f"1.{10 + number % 80}", key=uuid.uuid4())


def queries(client, person, url):
    client.force_login(person)
    client.get(url)  # what is asked once a session is asked before counting
    with CaptureQueriesContext(connection) as captured:
        answer = client.get(url)
    assert answer.status_code == 200
    return len(captured)


PAGES = ["study", "studies", "run", "lot", "bench", "home", "reviews", "refusals", "equipment", "people"]


def url_of(world, name):
    arguments = {
        "study": [world.study.code],
        "run": [world.run.pk],
        "lot": [world.specimens[0].pack.lot.label],
    }
    return reverse(name, args=arguments.get(name, []))


def test_ten_results_and_two_hundred_cost_the_same(client, world):
    results(world, 10)
    few = {name: queries(client, world.runa, url_of(world, name)) for name in PAGES}
    results(world, 190)
    many = {name: queries(client, world.runa, url_of(world, name)) for name in PAGES}
    assert Result.objects.count() == Entry.objects.count() == 200
    assert many == few


def test_the_findings_cost_the_same(world):
    from labrecords.reports.findings import findings

    results(world, 10)
    study = Study.objects.get(pk=world.study.pk)
    with CaptureQueriesContext(connection) as few:
        findings(study)
    results(world, 40)
    study = Study.objects.get(pk=world.study.pk)
    with CaptureQueriesContext(connection) as many:
        findings(study)
    assert len(few) == len(many)
    assert Deviation.objects.count() == 0
