"""The steps of a study: every state with every step, and the same table in the database."""

import re
from pathlib import Path

import pytest

import labrecords
from labrecords.rules.answers import codes
from labrecords.rules.facts import Study
from labrecords.rules.study import check_open
from labrecords.rules.study_states import ACTS_IN, DRAFT, STEPS, TESTING, check_act, check_step

SQL = Path(labrecords.__file__).parent / "migrations" / "sql"

STATES = ("draft", "locked", "testing", "in review", "reviewed", "released", "withdrawn")
ALLOWED = {
    ("draft", "lock the set-up"): "locked",
    ("draft", "withdraw"): "withdrawn",
    ("locked", "open the first run"): "testing",
    ("locked", "withdraw"): "withdrawn",
    ("testing", "finish testing"): "in review",
    ("in review", "accept"): "reviewed",
    ("in review", "return"): "testing",
    ("reviewed", "release"): "released",
    ("reviewed", "return"): "testing",
    ("released", "amend the report"): "in review",
}
ALL_STEPS = sorted({step for _, step in ALLOWED})


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("step", ALL_STEPS)
def test_each_step_from_each_state(state, step):
    assert STEPS[state].get(step) == ALLOWED.get((state, step))
    assert codes(check_step(state, step)) == (() if (state, step) in ALLOWED else ("state-refused",))


def test_the_table_holds_these_states_and_steps_and_no_others():
    assert tuple(STEPS) == STATES
    assert {(state, step): to for state, steps in STEPS.items() for step, to in steps.items()} == ALLOWED


def test_each_state_has_an_entry_and_a_way_into_it():
    reached = {to for steps in STEPS.values() for to in steps.values()}
    assert reached | {DRAFT} == set(STEPS)


def test_a_refused_step_says_what_comes_next():
    [answer] = check_step("in review", "finish testing")
    assert answer.why == "The study is in review. From there comes: accept, return. You asked to finish testing."
    [last] = check_step("withdrawn", "return")
    assert last.why == "The study is withdrawn. From there comes: nothing further. You asked to return."


def test_an_unknown_state_is_a_mistake_in_the_code():
    with pytest.raises(KeyError, match="closed"):
        check_step("closed", "accept")


def test_the_database_moves_studies_along_the_same_steps():
    wall = re.search(r"\(old\.state, new\.state\) in \((.*?)\) then", (SQL / "setup.sql").read_text(), re.DOTALL)
    written = re.findall(r"\('([a-z ]+)', '([a-z ]+)'\)", wall[1])
    assert len(written) == len(set(written))
    assert set(written) == {(state, to) for state, steps in STEPS.items() for to in steps.values()}


def test_the_database_keeps_results_in_the_same_state():
    states = re.findall(r"study\.state <> '([a-z ]+)'", (SQL / "gate.sql").read_text())
    assert states == [TESTING]


@pytest.mark.parametrize("state", STATES)
def test_results_are_kept_in_testing_only(state):
    expected = () if state == "testing" else ("study-not-open",)
    assert codes(check_open(Study("S-2026-001", state, locked=True))) == expected


@pytest.mark.parametrize("state", STATES)
def test_no_result_without_a_locked_set_up(state):
    assert codes(check_open(Study("S-2026-001", state, locked=False))) == ("setup-not-locked",)


@pytest.mark.parametrize("act", ACTS_IN)
@pytest.mark.parametrize("state", STEPS)
def test_acts_are_bound_to_their_states(state, act):
    answers = check_act(state, act)
    assert bool(answers) is (state not in ACTS_IN[act])
