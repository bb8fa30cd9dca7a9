"""A result that waits for a decision: its value is nowhere before whoever may decide, and in no number of anybody's."""

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.actions import deviations, people, traces, voids
from labrecords.files import sniff
from labrecords.management.demo import peel
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
    with pytest.raises(cast.results.Refused):  # the failure mode forgotten, as happens every day
        cast.enter(built, run=warm, typed=VALUE, modes=())
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
        "home": reverse("home"),
        "refusals": reverse("refusals"),
    }


@pytest.mark.parametrize("page", ["study", "specimen", "run", "decide", "reviews", "home", "refusals"])
def test_no_page_shows_it_to_whoever_may_decide(client, world, page):
    client.force_login(world.edda)
    answer = client.get(pages(world)[page])
    assert answer.status_code == 200
    text = answer.content.decode()
    assert world.specimens[0].label in text
    assert not [value for value in SHOWN if value in text]


@pytest.mark.parametrize("page", ["specimen", "run", "home", "refusals"])
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


def test_no_program_of_theirs_reads_it(world):
    token = people.give_token(person=world.edda, label="own", by=world.magnus, at=world.at)
    asking = Client(headers={"Authorization": f"Token {token}"})
    for path in ("results/", "refusals/", "summary/"):
        text = asking.get(f"/api/studies/{world.study.code}/{path}").content.decode()
        assert not [value for value in SHOWN if value in text], path


def test_a_void_does_not_tell_whether_it_is_low(client, world):
    """One that waits needs the manager whatever it is; and once void, the findings still do not print it."""
    for by in (world.edda, world.runa):
        with pytest.raises(cast.results.Refused) as refused:
            voids.void(specimen=world.specimens[0], cause="slip", words="Slipped.", by=by, at=world.at)
        assert refused.value.codes == ("void-needs-manager",)
    voids.void(specimen=world.specimens[0], cause="slip", words="Slipped.", by=world.magnus, at=world.at)
    (void,) = findings(world.study)["voids"]
    assert void["value"] == "not shown: waits for a decision"


def test_the_curves_of_a_file_keep_it(client, world):
    label = world.specimens[3].label
    curve = peel.peel_trace(
        mean_force_n=8.0, peel_travel_mm=10.0, cell_capacity_n=50.0, sampling_hz=50.0, seed=1, rate_mm_min=11 * 25.4
    )
    text = peel.as_text([curve], codes=[label], rate="11 in/min", technique="A", width="25.4 mm", layout="comma")
    received = traces.receive_file(
        study=world.study, name="pull.csv", content=text.encode(), by=world.runa, at=world.at
    ).file
    choice = cast.results.TraceChoice(received, 1, sniff.sniff(text.encode()).layout.to_json())
    kept = cast.enter(world, specimen=world.specimens[3], run=world.run, typed="", unit="", trace=choice)
    assert kept.held
    page = reverse("match-traces", args=[world.run.pk, received.pk])
    client.force_login(world.edda)
    hidden = client.get(page).content.decode()
    client.force_login(world.runa)
    shown = client.get(page).content.decode()
    peak = f"{curve.force_n.max():.3f}"
    assert peak in shown
    assert peak not in hidden
    assert "Not shown: its result waits for a decision." in hidden
    assert "data-figure" in shown
    assert "data-figure" not in hidden
