"""Every error in one shape, whatever went wrong and wherever."""

import json
import re

import pytest
from django.test import Client

from labrecords.actions import results
from labrecords.actions.refusals import as_json
from labrecords.database.errors import UNREACHABLE
from labrecords.queries import access
from labrecords.rules.answers import Answer
from tests.api.conftest import entry

KEYS = {"code", "detail", "refusal", "codes", "answers"}
REASON = set(as_json(Answer("no-value", "There is none.")))
UNWANTED = re.compile(r"\b(please|sorry|invalid|successful|oops)", re.IGNORECASE)


def shape_of(answer):
    """The body of an error, once everything about its shape has been looked at."""
    assert answer["Content-Type"] == "application/json"
    told = answer.json()
    assert set(told) == KEYS
    assert told["detail"].endswith(".")
    assert told["answers"]
    assert all(set(reason) == REASON for reason in told["answers"])
    assert told["codes"] == [reason["code"] for reason in told["answers"]]
    assert told["code"] in told["codes"] or told["code"] == "not-understood"
    assert not UNWANTED.search(json.dumps(told))
    return told


def _send(method, where, **more):
    return lambda caller, world: getattr(caller.client, method)(where.format(code=world.study.code), **more)


def _body(**wrong):
    return lambda caller, world: caller.post(entry(world) | wrong)


WALK = {
    "no such address": (404, _send("get", "/api/nothing/at/all")),
    "no such study": (404, _send("get", "/api/studies/S-1999-0001/summary/")),
    "no slash": (404, _send("get", "/api/studies/{code}")),
    "another method": (405, _send("delete", "/api/studies/{code}/")),
    "reading where one sends": (405, _send("get", "/api/results/")),
    "sending where one reads": (405, _send("post", "/api/studies/{code}/")),
    "sending nowhere": (404, _send("post", "/api/nothing/")),
    "a page wanted": (406, _send("get", "/api/studies/{code}/", headers={"accept": "text/html"})),
    "a body of another kind": (415, _send("post", "/api/results/", data="a=1", content_type="text/plain")),
    "broken JSON": (400, _send("post", "/api/results/", data='{"a":', content_type="application/json")),
    "no object": (400, _send("post", "/api/results/", data="[1]", content_type="application/json")),
    "NaN": (400, _send("post", "/api/results/", data='{"rate": NaN}', content_type="application/json")),
    "not UTF-8": (400, _send("post", "/api/results/", data=b'{"a": "\xff"}', content_type="application/json")),
    "a broken form": (400, _send("post", "/api/results/", data=b"x", content_type="multipart/form-data")),
    "an empty body": (400, _send("post", "/api/results/", data="", content_type="application/json")),
    "a wrong query": (400, _send("get", "/api/studies/{code}/results/?after=7")),
    "a wrong field": (400, _body(key="x", run="y")),
    "an unknown field": (400, _body(colour="blue")),
    "a wrong value": (422, _body(value="1.5.2")),
    "an unknown person": (422, _body(tested_by="nobody")),
}


def test_the_shape_wherever_it_goes_wrong(world, call):
    caller, found = call(), {}
    for case, (_, send) in WALK.items():
        answer = send(caller, world)
        found[case] = answer.status_code
        shape_of(answer)
    assert found == {case: status for case, (status, _) in WALK.items()}


def test_the_shape_without_a_token(world):
    for where in ("/api/schema/", "/api/results/", f"/api/studies/{world.study.code}/", "/api/nothing/"):
        answer = Client().get(where)
        assert (answer.status_code, shape_of(answer)["code"]) == (401, "token-missing")


def test_the_shape_of_a_refusal_for_authority(world, call):
    """The run is Runa's, and Timo is not authorised."""
    answer = call().post(entry(world, tested_by=world.timo))
    assert answer.status_code == 403
    assert shape_of(answer)["refusal"] is not None


def test_the_shape_of_a_role_that_may_not(call):
    answer = call("clara").get("schema/")
    assert (answer.status_code, shape_of(answer)["code"]) == (403, "permission-denied")


def test_a_fault_of_ours_is_logged_and_has_the_shape(world, call, monkeypatch, caplog):
    def fail(*_args):
        raise RuntimeError("the wires are crossed")

    monkeypatch.setattr(access, "study", fail)
    answer = call().get(f"studies/{world.study.code}/")
    assert (answer.status_code, shape_of(answer)["code"]) == (500, "fault")
    assert "wires" not in answer.content.decode()
    assert "the wires are crossed" in caplog.text


@pytest.mark.parametrize("fault", UNREACHABLE, ids=lambda fault: fault.__name__)
def test_a_database_that_does_not_answer_is_a_matter_of_waiting(world, call, monkeypatch, caplog, fault):
    def fail(*_args, **_named):
        raise fault("server closed the connection unexpectedly")

    caller, body = call(), entry(world)
    with monkeypatch.context() as patched:
        patched.setattr(results, "enter", fail)
        answer = caller.post(body)
    assert (answer.status_code, answer["Retry-After"], shape_of(answer)["code"]) == (503, "5", "unavailable")
    assert "connection unexpectedly" in caplog.text
    assert caller.post(body).status_code == 201  # the same entry, with the same key


def test_a_method_not_answered_names_those_that_are(world, call):
    assert "GET" in call().client.delete(f"/api/studies/{world.study.code}/")["Allow"]
