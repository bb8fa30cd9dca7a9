"""Results sent by program: the gate's own answers, once an entry."""

import uuid
from decimal import Decimal

import pytest
from django.apps import apps

from labrecords.actions.refusals import Refused, as_json
from labrecords.api import problems
from labrecords.models import Deviation, Entry, EquipmentEvent, Refusal, Result
from labrecords.rules import wording
from labrecords.rules.answers import Kind
from tests import world as cast
from tests.api.conftest import entry
from tests.gate.cases import ALLOWED, HARD

# A refused entry leaves these, and only these.
TRAIL = {"Refusal", "Entry", "Event", "Seal"}


def rows():
    """How many rows every table has, but for the trail of a refusal."""
    models = apps.get_app_config("labrecords").get_models()
    return {model.__name__: model.objects.count() for model in models if model.__name__ not in TRAIL}


@pytest.mark.parametrize("case", HARD, ids=str)
def test_a_hard_case_gets_the_answers_of_the_action(world, call, case):
    wrong = case.wrong(world)
    caller, before = call(), rows()
    answer = caller.post(entry(world, **wrong))
    told = answer.json()
    assert case.code in told["codes"]
    assert answer.status_code == max(problems.status_of(code) for code in told["codes"])
    assert problems.status_of(told["code"]) == answer.status_code
    assert rows() == before
    stored = Refusal.objects.get(pk=told["refusal"])
    assert (stored.codes, stored.answers) == (told["codes"], told["answers"])
    with pytest.raises(Refused) as refused:
        cast.enter(world, **wrong)
    assert [as_json(reason) for reason in refused.value.answers] == told["answers"]


@pytest.mark.parametrize("case", ALLOWED, ids=str)
def test_a_true_result_is_kept(world, call, case):
    """The control: were everything refused, the cases above would pass for nothing."""
    assert call().post(entry(world, **case.wrong(world))).status_code == 201
    assert Result.objects.count() == 1


def test_what_comes_back_is_what_is_kept(world, call):
    told = call().post(entry(world, remark="by the window")).json()
    result = Result.objects.get()
    assert told["marks"] == told["held"] == []
    shown = told["result"]
    assert uuid.UUID(shown["id"]) == result.pk
    assert (shown["specimen"], shown["remark"]) == (world.specimens[0].label, "by the window")
    assert (shown["strength"], shown["recorded"], shown["recorded_unit"]) == ("1.52", "1.52", "lbf/in")
    # 1.52 lbf/in over 1 in is 1.52 lbf; 1 lbf = 4.4482216152605 N (NIST SP 811)
    assert shown["peak_force_n"] == pytest.approx(1.52 * 4.4482216152605)
    assert (shown["tested_by"], shown["entered_by"]) == ("runa", "tester_one")


def test_a_repeat_gets_the_same_answer_and_keeps_nothing_new(world, call):
    caller, body = call(), entry(world)
    first, again = caller.post(body), caller.post(body)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.content == again.content
    assert Result.objects.count() == Entry.objects.count() == 1


def test_a_repeated_refusal_is_the_same_refusal(world, call):
    caller, body = call(), entry(world, technique="C")
    first, again = caller.post(body), caller.post(body)
    assert (first.status_code, again.status_code) == (422, 422)
    assert first.content == again.content
    assert Refusal.objects.count() == 1


@pytest.mark.parametrize("name", ["remark", "value", "tested_at"])
def test_the_same_key_with_another_entry(world, call, name):
    caller, body = call(), entry(world)
    changed = {"remark": "else", "value": "1.53", "tested_at": "2026-05-20T08:59:00Z"}
    caller.post(body)
    answer = caller.post(body | {name: changed[name]})
    assert (answer.status_code, answer.json()["codes"]) == (422, ["key-reused"])
    assert Result.objects.count() == 1


def test_the_same_key_from_somebody_else(world, call):
    body = entry(world)
    call().post(body)
    answer = call("runa").post(body)
    assert (answer.status_code, answer.json()["codes"]) == (422, ["key-reused"])


def test_one_moment_in_two_zones_is_one_entry(world, call):
    caller, body = call(), entry(world)
    first = caller.post(body)
    again = caller.post(body | {"tested_at": "2026-05-20T10:00:00+01:00"})
    assert again.content == first.content


def test_a_mark_is_told(world, call):
    told = call().post(entry(world, opened=True, typed="", unit="", modes=())).json()
    assert told["marks"] == ["opened-before-test"]
    assert (told["result"]["strength"], told["result"]["censored"]) == (None, "below")


def test_a_value_beyond_the_end_has_its_reading_and_the_end_and_nothing_to_average(world, call):
    result = call().post(entry(world, typed="13.50")).json()["result"]  # 60 N on a cell of 50 N
    assert (result["recorded"], result["censored"]) == ("13.50", "above")
    assert float(result["censored_at"]) == pytest.approx(50 / 4.4482216152605)
    assert [result[name] for name in ("peak_force_n", "strength", "mean_strength")] == [None] * 3


def test_a_hold_is_told(world, call):
    warm = cast.open_run(world, room_c=30.0)
    caller, body = call(), entry(world, run=warm)
    told = caller.post(body)
    assert told.json()["held"] == ["room-outside-limits"]
    assert Deviation.objects.get().code == "room-outside-limits"
    assert caller.post(body).content == told.content


def test_above_capacity_is_kept_and_the_cell_taken_out(world, call):
    told = call().post(entry(world, typed="60", unit="N")).json()
    assert told["marks"] == ["above-capacity"]
    assert EquipmentEvent.objects.filter(equipment=world.cell, kind=EquipmentEvent.OUT).count() == 1


def test_all_reasons_come_at_once_and_the_highest_status_wins(world, call):
    """Not authorised (403) and another technique (422)."""
    answer = call().post(entry(world, technique="C"))
    told = answer.json()
    assert told["codes"] == ["not-authorised", "technique-changed"]
    assert (answer.status_code, told["code"]) == (422, "technique-changed")
    assert told["detail"] == ("Not recorded: not authorised for this technique; another technique than the study's.")


JUDGED = [
    ({"value": "1.5.2"}, "not-a-number"),
    ({"value": "9" * 40}, "not-a-number"),
    ({"value": "-1"}, "negative"),
    ({"value": ""}, "no-value"),
    ({"unit": "N/15mm"}, "unit-mismatch"),
    ({"unit": "stone"}, "unit-mismatch"),
    ({"modes": []}, "no-mode"),
    ({"modes": ["ZZ"]}, "mode-unknown"),
    ({"specimen": "SP-000123-X"}, "specimen-unknown"),
    ({"specimen": "pouch seven"}, "specimen-unknown"),
    ({"technique": "Z"}, "technique-changed"),
    ({"rate": "11.0001"}, "rate-changed"),
    ({"rate": 0}, "rate-changed"),
    ({"width_mm": "0.001"}, "width-changed"),
    ({"tested_at": "1900-01-01T00:00:00Z"}, "before-receipt"),
    ({"tested_at": "2999-12-31T23:59:59Z"}, "in-the-future"),
]


def test_the_gate_judges_what_was_sent(world, call):
    caller = call()
    for wrong, code in JUDGED:
        answer = caller.post(entry(world) | wrong)
        assert (wrong, answer.status_code, code in answer.json()["codes"]) == (wrong, 422, True)
    assert not Result.objects.exists()
    assert Refusal.objects.count() == len(JUDGED)


NOT_UNDERSTOOD = [
    ({"key": "seven"}, "key"),
    ({"key": None}, "key"),
    ({"value": 1.52}, "value"),
    ({"specimen": 17}, "specimen"),
    ({"rate": "fast"}, "rate"),
    ({"rate": "NaN"}, "rate"),
    ({"rate": "1e400"}, "rate"),
    ({"rate": True}, "rate"),
    ({"rate_unit": "mm/s"}, "rate_unit"),
    ({"width_mm": "0"}, "width_mm"),
    ({"width_mm": -15}, "width_mm"),
    ({"tested_at": "2026-05-20T09:00:00"}, "tested_at"),
    ({"tested_at": "yesterday"}, "tested_at"),
    ({"tested_at": "0001-01-01T00:00:00+14:00"}, "tested_at"),
    ({"modes": "AP"}, "modes"),
    ({"modes": [7]}, "modes.0"),
    ({"opened": "perhaps"}, "opened"),
    ({"remark": "a\x00b"}, "remark"),
    ({"remark": "\ud800"}, "remark"),
    ({"confirmd": ["odd-trace"]}, "confirmd"),
    ({"file": "a.csv"}, "file"),
]


def test_what_cannot_be_understood_is_named(world, call):
    caller, before = call(), rows()
    for wrong, field in NOT_UNDERSTOOD:
        answer = caller.post(entry(world) | wrong)
        assert (wrong, answer.status_code, answer.json()["code"]) == (wrong, 400, "not-understood")
        assert [reason["facts"]["field"] for reason in answer.json()["answers"]] == [field]
    assert rows() == before
    assert not Entry.objects.exists()


def test_how_it_was_pulled_must_be_said(world, call):
    caller = call()
    for field in ("key", "run", "specimen", "tested_at", "technique", "rate", "rate_unit", "width_mm"):
        body = entry(world)
        del body[field]
        (reason,) = caller.post(body).json()["answers"]
        assert (reason["code"], reason["facts"]) == ("field-required", {"field": field})


def test_the_tester_may_be_named(world, call):
    assert call().post(entry(world) | {"tested_by": "runa"}).status_code == 201


@pytest.mark.parametrize("name", ["nobody", "clara"])
def test_somebody_who_is_not_of_the_laboratory(world, call, name):
    answer = call().post(entry(world) | {"tested_by": name})
    assert (answer.status_code, answer.json()["code"]) == (422, "person-unknown")


def test_a_run_that_is_not_there(world, call):
    answer = call().post(entry(world) | {"run": str(uuid.uuid4())})
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


def test_a_closed_run(world, call):
    cast.runs.close_run(run=world.run, by=world.runa, at=world.at)
    answer = call().post(entry(world))
    assert (answer.status_code, answer.json()["codes"]) == (409, ["run-closed"])


def test_numbers_and_text_are_the_same_decimal(world, call):
    assert call().post(entry(world) | {"rate": 11.0, "width_mm": 25.4}).status_code == 201
    assert Result.objects.get().rate == Decimal(11)


def test_every_code_of_the_status_table_is_one_of_the_gates():
    assert set(problems.STATUS) <= set(wording.WORDS)
    assert {wording.kind_of(code) for code in problems.STATUS} == {Kind.REFUSE}
