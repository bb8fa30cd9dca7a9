"""What a device that kept an entry is told, by the view and the action that the page itself uses."""

import json
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.models import Entry, Event, Refusal, Result
from tests.pages.test_bench import entry, receive, trace_file, usual, world

__all__ = ["world"]


@pytest.fixture
def send(client, world):
    """Send an entry as the script of the page does, as Runa unless somebody else is signed in."""
    client.force_login(world.runa)

    def sent(data, person=None, **headers):
        headers = {"accept": "application/json", "x-person": str((person or world.runa).pk)} | headers
        return client.post(reverse("run", args=[world.run.pk]), data, headers=headers)

    return sent


def recorded() -> tuple[int, ...]:
    return tuple(model.objects.count() for model in (Result, Entry, Refusal, Event))


def test_a_kept_entry_is_told_so_and_a_repeat_the_same(send, world):
    data = entry(world)
    first = send(data)
    assert first.status_code == 201
    told = first.json()
    assert (told["outcome"], told["specimen"]) == ("kept", world.specimens[0].label)
    assert told["next"] == world.specimens[1].label
    before = recorded()
    again = send(data)
    assert (again.status_code, again.json()) == (201, told)
    assert recorded() == before


def test_a_kept_entry_asks_few_questions(send, world, django_assert_max_num_queries):
    send(entry(world))  # what is asked once a session is asked before counting
    with django_assert_max_num_queries(32):  # each costs the technician at the bench a millisecond or more
        assert send(entry(world, specimen=world.specimens[1].label)).status_code == 201


def test_a_refused_entry_is_told_every_reason_and_the_same_again(send, world):
    data = entry(world, technique="C", rate="12")
    answer = send(data)
    told = answer.json()
    assert (answer.status_code, told["outcome"]) == (403, "refused")
    assert {"technique-changed", "rate-changed"} <= set(told["codes"])
    assert {panel["code"] for panel in told["panels"]} == set(told["codes"])
    assert "<" not in "".join(panel["at"] for panel in told["panels"])
    before = recorded()
    assert send(data).json() == told
    assert recorded() == before


def test_what_cannot_be_read_is_told_by_field_and_nothing_is_recorded(send, world):
    before = recorded()
    answer = send(entry(world, specimen="", rate="fast"))
    assert (answer.status_code, answer.json()["outcome"]) == (422, "not-understood")
    assert {problem["field"] for problem in answer.json()["problems"]} == {"specimen", "rate"}
    assert recorded() == before


def test_the_page_itself_is_answered_as_before(client, world):
    client.force_login(world.runa)
    where = reverse("run", args=[world.run.pk])
    assert client.post(where, entry(world)).status_code == 302
    browser = {"accept": "text/html,application/xhtml+xml,application/json;q=0.9,*/*;q=0.8"}
    assert client.post(where, entry(world), headers=browser).headers["Content-Type"].startswith("text/html")


def traced(client, world, **shape):
    """An entry whose force is that of a trace that came for the second specimen."""
    specimen = world.specimens[1]
    receive(client, world, trace_file(world, specimens=[specimen], **shape))
    page = client.get(reverse("run", args=[world.run.pk]), {"specimen": specimen.label})
    carried = page.context["form"]["trace"].value()
    assert carried
    return entry(world, specimen=specimen.label, typed="", trace=carried)


def test_a_repeat_of_a_trace_s_entry_has_its_first_answer_though_the_trace_waits_no_longer(send, client, world):
    data = traced(client, world)
    first = send(data)
    assert first.status_code == 201
    before = recorded()
    again = send(data)
    assert (again.status_code, again.json()["said"]) == (201, first.json()["said"])
    assert recorded() == before
    another = send(data | {"key": str(uuid.uuid4())})  # the control: with a key of its own it is another entry
    assert another.json()["outcome"] == "not-understood"
    assert recorded() == before


@pytest.mark.parametrize("name", ["", "x", "0190b3c4-0000-7000-8000-000000000000/1", "{file}/", "{file}/one"])
def test_a_repeat_that_names_another_trace_is_another_entry(send, client, world, name):
    data = traced(client, world)
    send(data)
    changed = data | {"trace": name.format(file=data["trace"].partition("/")[0])}
    assert send(changed).json()["codes"] == ["key-reused"]
    assert Result.objects.count() == 1


def test_an_odd_trace_is_kept_by_one_more_press(send, client, world):
    data = traced(client, world, peel_travel_mm=45.0)
    asked = send(data)
    assert (asked.status_code, asked.json()["codes"]) == (422, ["odd-trace"])
    assert not Result.objects.exists()
    pressed = data | {"confirmed": asked.json()["confirm"], "key": str(uuid.uuid4())}
    assert send(pressed).status_code == 201


def test_a_value_far_from_the_others_is_kept_by_one_more_press_and_the_press_is_its_own(send, client, world):
    run, strip = usual(world)

    def sent(**changed):
        data = entry(world, specimen=strip.label, **changed)
        headers = {"accept": "application/json", "x-person": str(world.runa.pk)}
        return client.post(reverse("run", args=[run.pk]), data, headers=headers)

    press = sent(typed="14.8").json()["confirm"]
    assert sent(typed="14.9", confirmed=press).json()["codes"] == ["factor-of-ten"]
    assert not Result.objects.filter(specimen=strip).exists()
    assert sent(typed="14.8", confirmed=press).status_code == 201
    assert Entry.objects.get(result__specimen=strip).noticed == ["factor-of-ten"]


def test_what_no_press_can_answer_offers_none(send, world):
    assert send(entry(world, rate="12")).json()["confirm"] == ""


def late(world, **changed):
    """Typed on a device whose clock is three minutes behind, as long after the run was opened as the world stands."""
    moment = (world.at - timedelta(minutes=3)).astimezone(UTC)
    times = {"tested_at": "", "pulled_at": moment.isoformat(), "clock_offset_ms": "180000"}
    return entry(world, **(times | changed))


def test_a_late_entry_was_tested_when_it_was_typed_and_arrived_when_it_arrived(send, world):
    assert send(late(world)).status_code == 201
    result = Result.objects.get()
    assert result.tested_at == world.at
    assert result.at > result.tested_at
    body = json.loads(Event.objects.filter(act="result.kept").latest("id").body)
    assert body["after"]["device clock"]["offset_ms"] == "180000"


def test_a_time_that_was_typed_goes_before_the_device_s(send, world):
    data = entry(world)
    assert send(late(world, tested_at=data["tested_at"], clock_offset_ms="7200000")).status_code == 201
    assert f"{Result.objects.get().tested_at:%S}" == "00"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"pulled_at": "yesterday"}, "pulled_at"),
        ({"clock_offset_ms": "9" * 30}, "clock_offset_ms"),
        ({"pulled_at": "9999-12-31T23:59:59Z", "clock_offset_ms": "86400000"}, "tested_at"),
        ({"pulled_at": ""}, "tested_at"),
    ],
)
def test_a_clock_that_cannot_be_read_is_no_time(send, world, changed, field):
    before = recorded()
    answer = send(late(world, **changed))
    assert answer.status_code == 422
    assert field in {problem["field"] for problem in answer.json()["problems"]}
    assert recorded() == before


def test_an_entry_of_somebody_else_waits_for_them(send, world):
    before = recorded()
    answer = send(entry(world), person=world.edda)
    assert (answer.status_code, answer.json()["outcome"]) == (401, "sign-in")
    assert recorded() == before


def test_whoever_is_signed_out_is_told_to_sign_in(world):
    answer = Client().post(reverse("run", args=[world.run.pk]), entry(world), headers={"accept": "application/json"})
    assert (answer.status_code, answer.json()["outcome"]) == (401, "sign-in")


def test_a_role_that_does_not_allow_it_is_a_refusal(client, world):
    client.force_login(world.magnus)
    answer = client.post(reverse("run", args=[world.run.pk]), entry(world), headers={"accept": "application/json"})
    assert (answer.status_code, answer.json()["codes"]) == (403, ["not-allowed"])


def test_a_device_is_told_who_is_signed_in_and_the_time(client, world):
    client.force_login(world.runa)
    told = client.get(reverse("not-sent"), headers={"accept": "application/json"})
    assert told.json()["person"] == str(world.runa.pk)
    assert datetime.fromisoformat(told.json()["now"]).tzinfo is not None
    assert "csrftoken" in told.cookies


def test_both_values_stand_side_by_side(client, send, world):
    assert send(entry(world, typed="1.52")).status_code == 201
    told = send(entry(world, typed="1.47")).json()
    page = client.get(told["conflict"]).content.decode()
    assert "1.52 lbf/in" in page
    assert "1.47 lbf/in" in page
    assert client.get(reverse("conflict", args=[uuid.uuid4()])).status_code == 404


def test_another_refusal_is_no_conflict(client, send, world):
    assert send(entry(world, technique="C")).json()["conflict"] == ""
    assert client.get(reverse("conflict", args=[Refusal.objects.get().pk])).status_code == 404


@pytest.fixture
def aside(client, world):
    client.force_login(world.runa)

    def sent(**changed):
        typed = {"specimen": world.specimens[0].label, "typed": "1.47", "unit": "lbf/in"}
        data = {"key": str(uuid.uuid4()), "typed": json.dumps(typed), "reason": "The wrong strip."} | changed
        return client.post(reverse("set-aside", args=[world.run.pk]), data, headers={"accept": "application/json"})

    return sent


def test_an_entry_is_set_aside_with_what_was_typed_and_why_once(aside, world):
    key = str(uuid.uuid4())
    assert aside(key=key).json() == {"outcome": "set-aside"}
    refusal = Refusal.objects.get()
    assert (refusal.codes, refusal.run, refusal.specimen) == (["set-aside"], world.run, world.specimens[0])
    assert refusal.tried == f"1.47 lbf/in for {world.specimens[0].label}"
    assert refusal.answers[0]["facts"]["reason"] == "The wrong strip."
    before = recorded()
    assert aside(key=key).json() == {"outcome": "set-aside"}
    assert recorded() == before


@pytest.mark.parametrize(
    "changed", [{"reason": " "}, {"typed": "[]"}, {"typed": "{"}, {"typed": '{"a": 1}'}, {"key": ""}]
)
def test_nothing_is_set_aside_without_a_reason_or_what_was_typed(aside, changed):
    before = recorded()
    assert aside(**changed).status_code == 422
    assert recorded() == before


def test_what_was_kept_after_all_is_not_set_aside(send, aside, world):
    data = entry(world)
    send(data)
    before = recorded()
    assert aside(key=data["key"]).json() == {"outcome": "kept"}
    assert recorded() == before


def test_the_worker_stands_where_it_may_open_runs_and_nothing_else(client, world):
    answer = client.get(reverse("outbox-worker"))
    assert answer.headers["Content-Type"].startswith("text/javascript")
    assert "Service-Worker-Allowed" not in answer
    assert "worker-src 'self'" in answer.headers["Content-Security-Policy"]
    assert reverse("outbox-worker").rsplit("/", 1)[0] == reverse("run", args=[world.run.pk]).rsplit("/", 2)[0]


def test_the_page_of_a_run_names_its_person_and_no_other_page_does(client, world):
    client.force_login(world.runa)
    assert client.get(reverse("run", args=[world.run.pk])).headers["X-Person"] == str(world.runa.pk)
    for name in ("bench", "not-sent", "home"):
        assert "X-Person" not in client.get(reverse(name))
