"""Pages about equipment, due dates and nonconforming work open for everybody of the laboratory, full or empty."""

from datetime import timedelta

import pytest
from django.urls import reverse

from labrecords.actions import review, runs
from labrecords.models import Calibration, Nonconformity
from labrecords.queries import waiting
from tests import world as cast
from tests.walls import rows


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.fixture
def filled(world):
    """The laboratory with an item, a check, a document, an arrival and nonconforming work on record."""
    rows._people_and_equipment(world)
    return world


PEOPLE = ["runa", "edda", "magnus", "signe"]


@pytest.mark.parametrize("person", PEOPLE)
@pytest.mark.parametrize("name", ["home", "due", "matrix", "equipment", "cell-fit", "nonconforming"])
def test_a_list_opens(client, filled, person, name):
    client.force_login(getattr(filled, person))
    assert client.get(reverse(name)).status_code == 200


@pytest.mark.parametrize("person", PEOPLE)
def test_an_item_and_what_belongs_to_it_open(client, filled, person):
    client.force_login(getattr(filled, person))
    made = Calibration.objects.filter(equipment=filled.cell).get()
    for name, argument in [
        ("equipment-item", filled.tester.label),
        ("equipment-item", filled.cell.label),
        ("cell-checks", filled.cell.label),
        ("calibration", made.pk),
        ("look-back", made.pk),
        ("nonconformity", Nonconformity.objects.get().code),
        ("lot", filled.specimens[0].pack.lot.label),
    ]:
        assert client.get(reverse(name, args=[argument])).status_code == 200, name


@pytest.mark.parametrize("name", ["home", "due", "matrix", "equipment", "cell-fit", "nonconforming"])
def test_a_list_opens_while_there_is_nothing(client, world, name):
    client.force_login(world.magnus)
    assert client.get(reverse(name)).status_code == 200


def test_cells_are_ranked_for_a_force(client, filled):
    client.force_login(filled.edda)
    page = client.get(reverse("cell-fit"), {"weak_n": "4", "strong_n": "20"}).content.decode()
    assert "Cell 50 N" in page
    assert "Fits" in page
    refused = client.get(reverse("cell-fit"), {"weak_n": "4", "strong_n": "2"})
    assert refused.status_code == 422


def test_a_study_before_a_reviewer_says_how_long_and_who_may_not(client, filled):
    cast.enter(filled)
    runs.close_run(run=filled.run, by=filled.runa, at=filled.at)
    for run in filled.study.runs.filter(closed_at__isnull=True):
        runs.close_run(run=run, by=filled.runa, at=filled.at)
    review.finish_testing(study=filled.study, by=filled.edda, at=filled.at, why_fewer="Enough.")
    (row,) = waiting.reviews(filled.at + timedelta(days=4, hours=1))
    assert (row.study.code, row.days, row.not_by) == (filled.study.code, 4, ("Runa Vik",))
    client.force_login(filled.magnus)
    assert "not by Runa Vik" in client.get(reverse("home")).content.decode()
