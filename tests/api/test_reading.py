"""What programs read of a study, and that reading more asks the database no more."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from labrecords.actions import deviations, voids
from labrecords.models import Deviation
from labrecords.queries import numbers, setups
from tests import world as cast
from tests.api.conftest import entry

PARTS = ("", "specimens/", "runs/", "results/", "summary/", "refusals/")


def path(world, part=""):
    return f"studies/{world.study.code}/{part}"


def test_the_study(world, call):
    told = call().get(path(world)).json()
    assert (told["code"], told["state"], told["mark"]) == (world.study.code, "testing", world.study.mark)
    assert (told["predecessor"], told["successor"]) == (None, None)
    setup = told["setup"]
    assert (setup["technique"], setup["rate"], setup["rate_unit"], setup["width_mm"]) == ("A", "11", "in/min", "25.4")
    assert [(line["label"], line["text"]) for line in setup["described"]] == setups.described(world.study.setup)
    assert [mode["key"] for mode in setup["modes"]] == ["AP", "CO", "BR"]
    (group,) = told["groups"]
    assert (group["lot"], group["packs"], group["planned"]) == ("L1", 4, 4)
    (limit,) = told["limits"]
    assert (limit["value"], limit["origin"], limit["origin_words"]) == ("1", "drawing", "drawing FD-114, note 3")


def test_the_specimens_by_state(world, call):
    caller = call()
    cast.enter(world)
    voids.void(specimen=world.specimens[1], cause="cut", words="Nicked edge.", by=world.runa, at=world.at)
    rows = {row["label"]: row for row in caller.get(path(world, "specimens/")).json()["specimens"]}
    labels = [specimen.label for specimen in world.specimens]
    assert [rows[label]["state"] for label in labels] == ["done", "void", "waiting", "waiting"]
    assert rows[labels[0]]["pack"] == world.specimens[0].pack.label
    waiting = caller.get(path(world, "specimens/"), state="waiting").json()["specimens"]
    assert [row["label"] for row in waiting] == labels[2:]


def test_a_state_that_is_none(world, call):
    answer = call().get(path(world, "specimens/"), state="lost")
    assert (answer.status_code, answer.json()["answers"][0]["facts"]) == (400, {"field": "state"})


def test_the_open_runs(world, call):
    caller = call()
    (row,) = caller.get(path(world, "runs/")).json()["runs"]
    assert (row["id"], row["person"], row["cell"]) == (str(world.run.pk), "runa", world.cell.label)
    cast.runs.close_run(run=world.run, by=world.runa, at=world.at)
    assert caller.get(path(world, "runs/")).json()["runs"] == []


def test_pages_of_results_join_without_gap_or_overlap(world, call):
    caller = call()
    for specimen in world.specimens:
        cast.enter(world, specimen=specimen)
    whole = caller.get(path(world, "results/")).json()
    assert [row["specimen"] for row in whole["results"]] == [specimen.label for specimen in world.specimens]
    assert (whole["unit"], whole["next"]) == ("lbf/in", None)
    first = caller.get(path(world, "results/"), limit=3).json()
    second = caller.get(path(world, "results/"), limit=3, after=first["next"]).json()
    assert len(first["results"]) == 3
    assert first["results"] + second["results"] == whole["results"]
    assert second["next"] is None


@pytest.mark.parametrize("query", [{"after": "x"}, {"limit": 0}, {"limit": 501}, {"page": 2}])
def test_a_page_that_is_none(world, call, query):
    answer = call().get(path(world, "results/"), **query)
    assert (answer.status_code, answer.json()["answers"][0]["facts"]["field"]) == (400, next(iter(query)))


def test_a_void_result_stays_in_the_list(world, call):
    cast.enter(world, typed="9.00")
    voids.void(specimen=world.specimens[0], cause="slip", words="Slipped.", by=world.magnus, at=world.at)
    (row,) = call().get(path(world, "results/")).json()["results"]
    assert (row["standing"], row["strength"]) == ("void", "9")


def test_whoever_may_decide_is_not_shown_the_value(world, call):
    cast.enter(world, run=cast.open_run(world, room_c=30.0), typed="1.37")
    device, engineer = call(), call("edda")
    (seen,) = device.get(path(world, "results/")).json()["results"]
    assert (seen["strength"], seen["withheld"], seen["standing"]) == ("1.37", False, "waiting for a decision")
    answer = engineer.get(path(world, "results/"))
    (hidden,) = answer.json()["results"]
    assert (hidden["strength"], hidden["withheld"]) == (None, True)
    assert "1.37" not in answer.content.decode()
    deviations.decide(
        deviation=Deviation.objects.get(), counts=False, words="Too warm by far.", by=world.edda, at=world.at
    )
    (shown,) = engineer.get(path(world, "results/")).json()["results"]
    assert (shown["strength"], shown["withheld"], shown["standing"]) == ("1.37", False, "set aside")


def test_the_numbers_are_the_studys_own(world, call):
    for specimen, typed in zip(world.specimens, ("1.2", "1.4", "1.6", "1.8"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    told = call().get(path(world, "summary/")).json()
    (shown,), (own,) = told["groups"], numbers.study_numbers(world.study)
    assert (told["unit"], told["coverage"], told["confidence"]) == ("lbf/in", "0.95", "0.95")
    assert (shown["n"], shown["tested"], shown["below"], shown["above"]) == (4, 4, 0, 0)
    # to the last digit: what JSON wrote reads back as the very same double
    for name in ("mean", "sd", "cv", "minimum", "maximum"):
        assert shown["summary"][name] == getattr(own.summary, name)
    assert tuple(shown["summary"]["mean_interval"].values()) == tuple(own.summary.mean_interval)
    assert shown["bound"] == {"value": own.bound.value, "words": own.bound.words}
    (verdict,) = shown["verdicts"]
    assert (verdict["value"], verdict["met"], verdict["outside"]) == ("1", True, 0)
    assert shown["summary"]["mean"] == pytest.approx(1.5)


def test_an_empty_study_has_no_numbers(world, call):
    (group,) = call().get(path(world, "summary/")).json()["groups"]
    assert (group["n"], group["summary"], group["normality"], group["bound"]["value"]) == (0, None, None, None)


def test_the_refusals_are_told_as_they_were(world, call):
    caller = call()
    refused = caller.post(entry(world, rate=Decimal(12))).json()
    (row,) = caller.get(path(world, "refusals/")).json()["refusals"]
    assert (row["id"], row["codes"], row["answers"]) == (refused["refusal"], refused["codes"], refused["answers"])
    assert (row["by"], row["specimen"]) == ("tester_one", world.specimens[0].label)


@pytest.fixture
def big(world, monkeypatch):
    """A second study, of forty packs."""
    monkeypatch.setattr(cast, "GROUPS", [cast.GROUPS[0] | {"packs": 40}])
    big = cast.World(world.at, world.people, world.method, world.tester, world.cell, world.project, study=None)
    big.study = cast.studies.lock(study=cast.plan(big), by=world.edda, at=world.at)
    big.specimens = cast.receive(big)
    big.run = cast.open_run(big)
    return big


def test_more_results_ask_no_more_queries(big, call):
    """Kept, held, refused and void ones among them, and the row of each has its people, pack and group."""
    caller, warm = call(), cast.open_run(big, room_c=30.0)

    def fill(specimens):
        for place, specimen in enumerate(specimens):
            cast.enter(big, specimen=specimen, run=warm if place % 2 else big.run)
        caller.post(entry(big, specimen=specimens[0]))
        voids.void(specimen=specimens[0], cause="slip", words="Slipped.", by=big.magnus, at=big.at)

    def counted():
        counts = {}
        for part in PARTS:
            with CaptureQueriesContext(
                connection,
            ) as queries:
                assert caller.get(path(big, part)).status_code == 200
            counts[part] = len(queries)
        return counts

    fill(big.specimens[:4])
    few = counted()
    fill(big.specimens[4:])
    assert len(caller.get(path(big, "results/")).json()["results"]) == 40
    assert counted() == few
    assert max(few.values()) <= 12
