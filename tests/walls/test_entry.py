"""Sending results again, at once, and into faults: one answer a key, one result a specimen, nothing by halves."""

import threading
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.apps import apps
from django.db import connection, connections

from labrecords.actions import results, studies, trail
from labrecords.actions.refusals import Refused
from labrecords.models import Entry, Event, Record, Refusal, Result, Run, Seal, Trace
from tests import world as cast
from tests.walls.rows import trace_choice

SENDERS = 20


@pytest.fixture
def world(committed):
    return committed


def counts() -> dict[str, int]:
    """Rows of every table that an entry can add to."""
    kept = [
        model
        for model in apps.get_app_config("labrecords").get_models()
        if issubclass(model, (Record, Event, Seal, Run))
    ]
    return {model.__name__: model.objects.count() for model in kept}


def added(before: dict[str, int]) -> dict[str, int]:
    return {name: number - before[name] for name, number in counts().items() if number != before[name]}


def outcome(world, **sent) -> tuple:
    """What the sender is told."""
    try:
        kept = cast.enter(world, **sent)
    except Refused as refused:
        return ("refused", refused.refusal.pk, refused.codes, str(refused))
    return ("kept", kept.result.pk, kept.marks, kept.held)


def all_at_once(senders) -> list[tuple]:
    """Run the senders in threads that start together, each on a connection of its own."""
    together = threading.Barrier(len(senders), timeout=60)

    def run(sender):
        try:
            connection.ensure_connection()
            together.wait()
            return sender()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(senders)) as pool:
        return list(pool.map(run, senders))


# --- the same key --------------------------------------------------------------------------------


def test_one_key_sent_by_many_at_once_has_one_answer_and_one_of_everything(world):
    specimen, key, before = next(world.untouched), uuid.uuid4(), counts()
    answers = all_at_once([lambda: outcome(world, specimen=specimen, key=key)] * SENDERS)
    assert answers == [answers[0]] * SENDERS
    assert answers[0][0] == "kept"
    assert added(before) == {"Result": 1, "Entry": 1, "Event": 1, "Seal": 1}


def test_one_key_into_two_studies_at_once_is_kept_in_one(world):
    other = cast.World(
        **{name: getattr(world, name) for name in ("at", "people", "method", "tester", "cell", "project")}, study=None
    )
    other.study = studies.lock(study=cast.plan(other), by=world.edda, at=world.at)
    other.specimens = cast.receive(other)
    other.run = cast.open_run(other)
    here, there, key = next(world.untouched), other.specimens[0], uuid.uuid4()
    before = counts()
    senders = [lambda: outcome(world, specimen=here, key=key), lambda: outcome(other, specimen=there, key=key)] * 5
    answers = all_at_once(senders)
    kept = {answer for answer in answers if answer[0] == "kept"}
    assert len(kept) == 1
    assert sorted(answer[2] for answer in answers if answer[0] == "refused") == [("key-reused",)] * 5
    assert added(before) == {"Result": 1, "Entry": 1, "Refusal": 5, "Event": 6, "Seal": 6}


def test_a_key_sent_again_later_gives_the_first_answer_and_keeps_nothing(world):
    sent = {"specimen": next(world.untouched), "key": uuid.uuid4()}
    first, before = outcome(world, **sent), counts()
    assert outcome(world, **sent) == first
    assert outcome(world, **sent | {"at": world.at.replace(hour=23)}) == first  # the moment of sending is not the entry
    assert added(before) == {}


@pytest.mark.parametrize(
    "changed",
    [{"typed": "1.53"}, {"modes": ("CO",)}, {"opened": True}, {"remark": "x"}, {"confirmed": ("odd-trace",)}],
    ids=lambda changed: next(iter(changed)),
)
def test_a_key_with_another_entry_is_refused_and_nothing_else_kept(world, changed):
    sent = {"specimen": next(world.untouched), "key": uuid.uuid4()}
    first, before = outcome(world, **sent), counts()
    assert outcome(world, **sent, **changed)[2] == ("key-reused",)
    assert added(before) == {"Refusal": 1, "Event": 1, "Seal": 1}
    assert outcome(world, **sent) == first  # the first answer stands


def test_another_persons_key_does_not_tell_what_was_answered(world):
    sent = {"specimen": next(world.untouched), "key": uuid.uuid4()}
    first, before = outcome(world, **sent), counts()
    told = outcome(world, **sent, entered_by=world.edda)
    assert told[2] == ("key-reused",)
    assert str(first[1]) not in str(told)
    assert "1.52 lbf/in, kept" not in told[3]
    assert "Result" not in added(before)


def test_a_refused_entry_sent_again_gives_the_same_refusal(world):
    sent = {"specimen": next(world.untouched), "key": uuid.uuid4(), "technique": "C"}
    first, before = outcome(world, **sent), counts()
    assert first[0] == "refused"
    assert outcome(world, **sent) == first
    assert added(before) == {}


def test_a_refusal_sent_by_many_at_once_is_stored_once(world):
    specimen, key, before = next(world.untouched), uuid.uuid4(), counts()
    answers = all_at_once([lambda: outcome(world, specimen=specimen, key=key, technique="C")] * SENDERS)
    assert answers == [answers[0]] * SENDERS
    assert added(before) == {"Refusal": 1, "Entry": 1, "Event": 1, "Seal": 1}


# --- the same specimen ---------------------------------------------------------------------------


def test_many_entries_for_one_specimen_at_once_keep_exactly_one(world):
    specimen, before = next(world.untouched), counts()
    senders = [
        lambda typed=typed: outcome(world, specimen=specimen, typed=f"1.{typed}") for typed in range(45, 45 + SENDERS)
    ]
    answers = all_at_once(senders)
    refused = [answer for answer in answers if answer[0] == "refused"]
    assert len(refused) == SENDERS - 1
    assert {answer[2] for answer in refused} == {("specimen-done",)}
    assert all("kept at" in answer[3] for answer in refused)  # by the gate, which says what is there; not by the wall
    assert Result.objects.filter(specimen=specimen).count() == 1
    assert added(before) == {"Result": 1, "Entry": SENDERS, "Refusal": SENDERS - 1, "Event": SENDERS, "Seal": SENDERS}


def test_control_many_entries_for_as_many_specimens_are_all_kept(world):
    before = counts()
    specimens = [next(world.untouched) for _ in range(SENDERS)]
    senders = [lambda specimen=specimen: outcome(world, specimen=specimen) for specimen in specimens]
    assert {answer[0] for answer in all_at_once(senders)} == {"kept"}
    assert added(before) == {"Result": SENDERS, "Entry": SENDERS, "Event": SENDERS, "Seal": SENDERS}


# --- faults --------------------------------------------------------------------------------------


class Fault(Exception):
    pass


def fail(*_args, **_named):
    raise Fault


@pytest.mark.parametrize("sent", [{}, {"technique": "C"}], ids=["a result", "a refusal"])
def test_when_the_trail_cannot_be_written_nothing_is_kept(world, monkeypatch, sent):
    specimen, key, before = next(world.untouched), uuid.uuid4(), counts()
    with monkeypatch.context() as patched:
        patched.setattr(trail, "write", fail)
        with pytest.raises(Fault):
            cast.enter(world, specimen=specimen, key=key, **sent)
    assert added(before) == {}
    outcome(world, specimen=specimen, key=key, **sent)  # the same key works once the fault is gone
    assert Entry.objects.filter(key=key).count() == 1


OVERLOAD = {"typed": "60", "unit": "N", "modes": ("BR",), "confirmed": ("factor-of-ten", "unusual-value")}


@pytest.mark.parametrize("last", ["_event", "_remember"])
def test_when_a_step_after_the_result_fails_nothing_is_kept(world, monkeypatch, last):
    before = counts()
    monkeypatch.setattr(results._Sending, last, fail)
    with pytest.raises(Fault):
        cast.enter(world, specimen=next(world.untouched), **OVERLOAD)  # takes the cell out too
    assert added(before) == {}


def test_when_the_curve_cannot_be_kept_neither_is_its_result(world, monkeypatch):
    choice = trace_choice(world, seed=11)
    specimen, before = next(world.untouched), counts()
    monkeypatch.setattr(results, "keep_trace", fail)
    with pytest.raises(Fault):
        cast.enter(world, specimen=specimen, typed="", unit="", trace=choice)
    assert added(before) == {}


# --- the database's own wall ---------------------------------------------------------------------


@pytest.fixture
def no_gate(monkeypatch):
    """The rules in Python say nothing."""
    monkeypatch.setattr(results.result_entry, "check", lambda _facts: ())


def test_the_databases_refusal_becomes_the_same_stored_refusal(world, no_gate):
    specimen, key, before = next(world.untouched), uuid.uuid4(), counts()
    with pytest.raises(Refused) as refused:
        cast.enter(world, specimen=specimen, key=key, technique="C")
    assert refused.value.codes == ("technique-changed",)
    assert refused.value.refusal.answers[0]["facts"] == {"wall": "database"}
    assert added(before) == {"Refusal": 1, "Entry": 1, "Event": 1, "Seal": 1}
    assert Entry.objects.get(key=key).refusal == refused.value.refusal


def test_a_curve_that_another_specimen_has_is_refused_with_its_result(world, no_gate):
    choice = trace_choice(world, seed=12)
    cast.enter(world, specimen=next(world.untouched), typed="", unit="", trace=choice)
    specimen, before = next(world.untouched), counts()
    with pytest.raises(Refused) as refused:
        cast.enter(world, specimen=specimen, typed="", unit="", trace=choice)
    assert refused.value.codes == ("trace-reused",)
    assert added(before) == {"Refusal": 1, "Entry": 1, "Event": 1, "Seal": 1}
    assert not Trace.objects.filter(result__specimen=specimen).exists()
    assert Refusal.objects.filter(specimen=specimen).count() == 1
