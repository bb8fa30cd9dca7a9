"""The tray: what names a study's specimens is the study's, all else waits for a person; nothing is a result."""

import pytest
from django.urls import reverse
from django.utils import timezone

from labrecords.actions import tray
from labrecords.actions.refusals import Refused
from labrecords.files.problems import FileProblem
from labrecords.models import Event, Refusal, Result, TraceFile, TrayDecision, WaitingFile
from labrecords.queries.access import NotAllowed
from tests.clock import stopped
from tests.files.shapes import good


@pytest.fixture
def world(laboratory):
    return laboratory


def of(label: str) -> bytes:
    return f"# Specimen {label}\n".encode() + good()


def arrive(world, name="pull 7.csv", content=None, **changed):
    given = {"name": name, "content": content or good(), "remembered": None, "by": world.tester_one, "at": world.at}
    return tray.arrive(**given | changed)


@pytest.mark.parametrize("where", ["in the file", "in its name"])
def test_a_code_leads_to_the_study_and_no_result_is_kept(world, where):
    label = world.specimens[1].label
    name, content = ("pull.csv", of(label)) if where == "in the file" else (f"{label.replace('-', '')}.csv", good())
    arrived = arrive(world, name, content)
    assert arrived.study == world.study
    kept = TraceFile.objects.get()
    assert (kept.study, kept.by, bytes(kept.content)) == (world.study, world.tester_one, content)
    assert (Result.objects.count(), WaitingFile.objects.count()) == (0, 0)
    assert Event.objects.filter(act="trace-file.received", actor=world.tester_one.name).count() == 1


def test_the_page_of_the_run_offers_the_curve_for_its_specimen(client, world):
    arrive(world, content=of(world.specimens[1].label))
    client.force_login(world.runa)
    bench = client.get(reverse("bench")).content.decode()
    where = reverse("match-traces", args=[world.run.pk, TraceFile.objects.get().pk])
    assert where in bench
    assert f'value="{world.specimens[1].label}"' in client.get(where).content.decode()


@pytest.mark.parametrize("content", [good(), of("SP-000099-D")])
def test_what_names_no_specimen_of_ours_waits_and_says_why(world, content):
    from labrecords.rules.labels import label

    content = content.replace(b"SP-000099-D", label("SP", 99).encode())
    arrived = arrive(world, content=content)
    assert arrived.study is None
    assert WaitingFile.objects.get().why == arrived.why
    assert arrived.why.startswith(("Neither the file", "There is no specimen SP-000099"))
    assert not TraceFile.objects.exists()


def test_the_same_bytes_are_there_once_wherever_they_went(world):
    assert [arrive(world, name).again for name in ("a.csv", "b.csv")] == [False, True]
    tray.give(waiting=WaitingFile.objects.get(), study=world.study, by=world.runa, at=world.at)
    again = arrive(world, "c.csv")
    assert (again.study, again.again) == (world.study, True)
    assert (WaitingFile.objects.count(), TraceFile.objects.count()) == (1, 1)


def test_what_was_set_aside_does_not_come_back_by_itself(world):
    arrive(world)
    tray.set_aside(waiting=WaitingFile.objects.get(), reason="a trial pull", by=world.runa, at=world.at)
    with pytest.raises(Refused) as refused:
        arrive(world, "again.csv")
    assert refused.value.codes == ("file-set-aside",)
    assert "a trial pull" in str(refused.value)
    assert WaitingFile.objects.count() == 1


def test_a_study_not_in_testing_takes_none(world):
    type(world.study).objects.filter(pk=world.study.pk).update(state="in review")
    with pytest.raises(Refused) as refused:
        arrive(world, content=of(world.specimens[0].label))
    assert refused.value.codes == ("state-refused",)
    assert not TraceFile.objects.exists()
    assert Refusal.objects.count() == 1


def test_what_cannot_be_read_is_not_kept(world):
    with pytest.raises(FileProblem):
        arrive(world, content=b"\x00\x01\x02")
    assert (WaitingFile.objects.count(), TraceFile.objects.count()) == (0, 0)


def test_who_may_not_enter_results_sends_nothing(world):
    with pytest.raises(NotAllowed):
        arrive(world, by=world.signe)
    arrive(world)
    with pytest.raises(NotAllowed):
        tray.set_aside(waiting=WaitingFile.objects.get(), reason="x", by=world.tester_one, at=world.at)


def test_only_the_first_decision_counts(world):
    arrive(world)
    waiting = WaitingFile.objects.get()
    tray.give(waiting=waiting, study=world.study, by=world.runa, at=world.at)
    for act, given in ((tray.set_aside, {"reason": "x"}), (tray.give, {"study": world.study})):
        with pytest.raises(Refused) as refused:
            act(waiting=waiting, by=world.timo, at=world.at, **given)
        assert f"{world.runa.name} gave it to {world.study.code}." in str(refused.value)
    assert TrayDecision.objects.count() == 1


@pytest.fixture
def bench(client, world):
    arrive(world)
    client.force_login(world.runa)
    return client


def at(name):
    return reverse(name, args=[WaitingFile.objects.get().pk])


def test_the_technician_gives_it_to_a_run_and_confirms_its_curve(bench, world):
    assert "pull 7.csv: say whose it is" in bench.get(reverse("bench")).content.decode()
    page = bench.get(at("waiting-file")).content.decode()
    assert "Displacement (mm),Force (N)" in page
    answer = bench.post(at("give-waiting-file"), {"to": f"run {world.run.pk}"})
    assert answer.url == reverse("match-traces", args=[world.run.pk, TraceFile.objects.get().pk])
    after = bench.get(reverse("tray")).content.decode()
    assert "say whose it is" not in after
    assert "confirm whose curves these are" in after
    assert "Displacement" not in bench.get(at("waiting-file")).content.decode()
    assert Result.objects.count() == 0


def test_the_technician_gives_it_to_a_study(bench, world):
    assert bench.post(at("give-waiting-file"), {"to": f"study {world.study.code}"}).url == reverse("bench")
    assert TraceFile.objects.get().study == world.study


def test_the_technician_sets_it_aside_with_a_reason(bench, world):
    answer = bench.post(at("set-file-aside"), {"reason": "  "})
    assert answer.status_code == 422
    assert not TrayDecision.objects.exists()
    bench.post(at("set-file-aside"), {"reason": "a trial pull"})
    assert TrayDecision.objects.get().reason == "a trial pull"
    assert "None wait." in bench.get(reverse("tray")).content.decode()
    second = bench.post(at("give-waiting-file"), {"to": f"study {world.study.code}"})
    assert second.status_code == 422
    assert "set it aside: a trial pull" in second.content.decode()


@pytest.mark.parametrize("to", ["", "study S-1999-0001", "run 0"])
def test_a_place_that_is_not_offered_is_refused(bench, to):
    assert bench.post(at("give-waiting-file"), {"to": to}).status_code == 422
    assert not TrayDecision.objects.exists()


@pytest.mark.parametrize(("headers", "stays"), [({"X-Asked-By-Itself": "1"}, False), ({}, True)])
def test_a_page_that_keeps_itself_fresh_keeps_nobody_signed_in(bench, monkeypatch, headers, stays):
    """The control is the same page, asked for by a person."""
    clock = stopped(monkeypatch, timezone.now())
    for minutes in (0, 20, 20):
        clock.forward(minutes=minutes)
        asked = bench.get(reverse("tray"), headers=headers if minutes else {})
    assert (asked.status_code == 200) is stays
