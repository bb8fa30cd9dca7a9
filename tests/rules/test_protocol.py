"""A protocol: put to the client, answered, and the set-up locked on it."""

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.protocol import CLIENT, NOBODY, Standing, changed, check_answer, check_lock, check_put

NONE, WAITS = Standing(), Standing(version=2, same=True)
AGREED, AGAINST = Standing(version=2, same=True, agreed=True), Standing(version=2, same=True, agreed=False)
OVERTAKEN = Standing(version=2, same=False, agreed=True)


@pytest.mark.parametrize("standing", [NONE, AGAINST, OVERTAKEN])
def test_a_next_version_may_be_put(standing):
    assert check_put(standing, agreement=CLIENT) == []


@pytest.mark.parametrize(
    ("standing", "said"),
    [(WAITS, "Version 2 says the same, and waits for an answer."), (AGREED, "Version 2 says the same, and is agreed.")],
)
def test_the_same_once_more_may_not(standing, said):
    (answer,) = check_put(standing, agreement=CLIENT)
    assert (answer.code, answer.why) == ("protocol-unchanged", said)


def test_where_nobody_is_asked_nothing_is_put_and_nothing_is_waited_for():
    assert codes(check_put(NONE, agreement=NOBODY)) == ("protocol-not-asked",)
    assert check_lock(NONE, agreement=NOBODY) == []


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({}, None),
        ({"answered": True}, "already-decided"),
        ({"newest": 3}, "protocol-replaced"),
        ({"draft": False}, "protocol-replaced"),
    ],
)
def test_an_answer(told, code):
    known = {"version": 2, "newest": 2, "answered": False, "draft": True} | told
    assert codes(check_answer(**known)) == ((code,) if code else ())


@pytest.mark.parametrize(
    ("standing", "said"),
    [
        (AGREED, None),
        (NONE, "No version of the protocol has been put to the client."),
        (OVERTAKEN, "The plan is no longer what version 2 of the protocol says."),
        (WAITS, "Version 2 waits for the client's answer."),
        (AGAINST, "The client did not agree to version 2."),
    ],
)
def test_the_set_up_is_locked_on_what_the_client_agreed_to(standing, said):
    told = check_lock(standing, agreement=CLIENT)
    assert [(answer.code, answer.why) for answer in told] == ([("protocol-not-agreed", said)] if said else [])


def test_what_reads_otherwise():
    before, after = {"Rate": "11 in/min", "Filter": "none", "Gauge": "WG-1"}, {"Rate": "12 in/min", "Filter": "none"}
    assert changed(before, after | {"Cutter": "CU-1"}) == [
        ("Rate", "11 in/min", "12 in/min"),
        ("Gauge", "WG-1", "none"),
        ("Cutter", "none", "CU-1"),
    ]
