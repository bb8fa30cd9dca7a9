"""A result that waits for a decision: its value is nowhere before whoever may decide, and in no number of anybody's."""

import pytest
from django.urls import reverse

from labrecords.actions import deviations
from labrecords.models import Deviation
from labrecords.queries import numbers
from labrecords.reports.findings import findings
from tests import world as cast

VALUE = "1.3781"  # prints as 1.38; the others lie far from it
SHOWN = ("1.3781", "1.378", "1.38")


@pytest.fixture
def world(laboratory):
    built = laboratory
    cast.enter(built, specimen=built.specimens[1], typed="2.5")
    cast.enter(built, specimen=built.specimens[2], typed="2.7")
    warm = cast.open_run(built, room_c=30.0)
    cast.enter(built, run=warm, typed=VALUE)
    built.run = warm
    return built


def pages(world) -> dict[str, str]:
    label = world.specimens[0].label
    return {
        "study": reverse("study", args=[world.study.code]),
        "specimen": reverse("specimen", args=[label]),
        "run": reverse("run", args=[world.run.pk]),
        "decide": reverse("decide-deviation", args=[Deviation.objects.get().pk]),
        "reviews": reverse("reviews"),
    }


@pytest.mark.parametrize("page", ["study", "specimen", "run", "decide", "reviews"])
def test_no_page_shows_it_to_whoever_may_decide(client, world, page):
    client.force_login(world.edda)
    answer = client.get(pages(world)[page])
    assert answer.status_code == 200
    text = answer.content.decode()
    assert world.specimens[0].label in text
    assert not [value for value in SHOWN if value in text]


@pytest.mark.parametrize("page", ["specimen", "run"])
def test_whoever_pulled_it_still_reads_it(client, world, page):
    client.force_login(world.runa)
    assert VALUE in client.get(pages(world)[page]).content.decode()


def test_no_number_counts_it_until_it_is_decided(world):
    (group,) = numbers.study_numbers(world.study)
    assert (group.tested, group.waiting, group.n, group.summary.mean) == (3, 1, 2, pytest.approx(2.6))
    assert any("1 waits for a decision" in note for note in group.notes)
    (row,) = [row for row in findings(world.study)["results"] if row["specimen"] == world.specimens[0].label]
    assert (row["maximum"], row["average"], row["modes"]) == ("not shown", "", [])
    deviations.decide(deviation=Deviation.objects.get(), counts=True, words="Just warm.", by=world.edda, at=world.at)
    (group,) = numbers.study_numbers(world.study)
    assert (group.waiting, group.n) == (0, 3)


def test_a_second_entry_is_refused_without_telling_it(client, world):
    with pytest.raises(cast.results.Refused) as refused:
        cast.enter(world, typed="3.3")
    (answer,) = refused.value.answers
    assert answer.code == "specimen-done"
    assert "a result that waits for a decision" in answer.why
    assert VALUE not in answer.why


def test_the_page_shows_it_once_it_is_decided(client, world):
    deviations.decide(deviation=Deviation.objects.get(), counts=False, words="Too warm.", by=world.edda, at=world.at)
    client.force_login(world.edda)
    assert VALUE in client.get(reverse("specimen", args=[world.specimens[0].label])).content.decode()
