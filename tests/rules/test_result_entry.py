"""The gate as a whole: good facts give no answer, and each rule is heard through it."""

import re
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from labrecords.rules.answers import Answer, codes
from labrecords.rules.facts import Others
from labrecords.rules.result_entry import check, noticed

from .good import CELL, FACTS, NOW, TESTER, calibrated, facts, rate, traced
from .test_wording import BANNED

USUAL = Others(strengths=tuple(map(Decimal, ("1.42", "1.51", "1.38", "1.47", "1.55"))))
GOOD = [
    ("typed", FACTS),
    ("typed, with a trace", facts(entry=traced())),
    ("trace alone", facts(entry=replace(traced(), unit=None, typed_force_n=None))),
]
CASES = [
    ("study-not-open", {"study": {"state": "in review"}}),
    ("setup-not-locked", {"study": {"locked": False}}),
    ("specimen-elsewhere", {"specimen": {"study_code": "S-2026-002"}}),
    ("not-in-plan", {"specimen": {"in_plan": False}}),
    ("specimen-void", {"specimen": {"void": True}}),
    ("specimen-done", {"specimen": {"result_words": "9.31 N/15mm, kept at 09:14"}}),
    ("run-closed", {"run": {"closed": True}}),
    ("not-this-person", {"entry": {"tested_by": "Timo Aalto"}}),
    ("in-the-future", {"entry": {"tested_at": NOW + timedelta(hours=1)}}),
    ("before-receipt", {"specimen": {"received_at": NOW + timedelta(hours=1)}}),
    ("before-run", {"run": {"opened_at": NOW + timedelta(hours=1)}}),
    ("out-of-service", {"tester": {"status": "out of service"}}),
    ("not-calibrated", {"cell": {"calibration": None}}),
    ("calibration-failed", {"tester": calibrated(TESTER, passed=False)}),
    ("calibration-overdue", {"cell": calibrated(CELL, due_on=CELL.calibration.performed_on)}),
    ("not-authorised", {"authorisations": ()}),
    ("technique-changed", {"run": {"technique": "B"}}),
    ("rate-changed", {"entry": {"rate": rate("12 in/min")}}),
    ("rate-changed", {"entry": traced(measured_rate_mm_min=300.0)}),
    ("width-changed", {"entry": {"width_mm": Decimal("15")}}),
    ("reduction-changed", {"entry": traced(span_fraction=1.0)}),
    ("no-value", {"entry": {"peak_force_n": None}}),
    ("negative", {"entry": {"peak_force_n": -1.0}, "cell": calibrated(CELL, verified_low_n=None)}),
    ("unit-mismatch", {"entry": {"unit": "N/15mm"}}),
    ("no-mode", {"entry": {"modes": ()}, "method": {"peeling_modes": ()}}),
    ("mode-unknown", {"entry": {"modes": ("AP", "XX")}}),
    ("trace-disagrees", {"entry": traced(peak_force_n=3.91)}),
    ("trace-reused", {"entry": traced(used_by="SP-000122-P")}),
    ("below-verified", {"entry": {"peak_force_n": 0.1}}),
    ("above-capacity", {"entry": {"peak_force_n": 60.2}}),
    ("above-verified", {"entry": {"peak_force_n": 40.1}, "cell": calibrated(CELL, verified_high_n=40.0)}),
    ("no-average", {"entry": {"modes": ("BR",)}}),
    (
        "opened-before-test",
        {"entry": {"opened": True, "peak_force_n": None, "typed_force_n": None, "unit": None, "modes": ()}},
    ),
    ("not-conditioned", {"specimen": {"conditioned_since": None}}),
    ("room-outside-limits", {"run": {"room_c": 27.0}}),
    ("odd-trace", {"entry": traced(end_open=True)}),
    ("unusual-value", {"entry": {"strength": Decimal("2.10")}, "others": USUAL}),
    ("factor-of-ten", {"entry": {"strength": Decimal("15.2")}, "others": USUAL}),
    ("same-value-again", {"entry": {"typed": "1.52 lbf/in"}, "others": Others(typed_before=("1.52 lbf/in",) * 2)}),
]
IDS = [f"{number}-{code}" for number, (code, _) in enumerate(CASES)]


@pytest.mark.parametrize("given", [case[1] for case in GOOD], ids=[case[0] for case in GOOD])
def test_good_facts_give_no_answer(given):
    assert check(given) == ()


@pytest.mark.parametrize(("code", "parts"), CASES, ids=IDS)
def test_each_rule_is_heard(code, parts):
    found = codes(check(facts(**parts)))
    # a strip without any mode has not peeled either, so that one answer comes with a mark
    assert found == ((code, "no-average") if code == "no-mode" else (code,))


@pytest.mark.parametrize(("code", "parts"), CASES, ids=IDS)
def test_each_answer_is_a_sentence_with_facts_as_text(code, parts):
    for answer in check(facts(**parts)):
        assert re.match(r"[A-Z0-9]", answer.why)
        assert answer.why.endswith(".")
        assert not BANNED.search(answer.why)
        assert all(isinstance(value, str) and value for value in answer.facts.values())


def test_all_reasons_come_at_once():
    given = facts(
        study={"state": "in review"},
        specimen={"void": True, "conditioned_since": None},
        run={"closed": True},
        cell={"status": "retired"},
        authorisations=(),
        entry={"technique": "C", "rate": rate("12 in/min"), "peak_force_n": 60.2},
    )
    assert codes(check(given)) == (
        "study-not-open",
        "specimen-void",
        "run-closed",
        "out-of-service",
        "not-authorised",
        "technique-changed",
        "rate-changed",
        "above-capacity",
        "not-conditioned",
    )


@pytest.mark.parametrize("missing", ["setup", "method"])
def test_without_a_set_up_the_other_rules_are_asked_all_the_same(missing):
    given = facts(study={"locked": False}, run={"closed": True}, entry={"technique": "C"}, **{missing: None})
    assert codes(check(given)) == ("setup-not-locked", "run-closed", "not-authorised")


def test_the_same_day_counts_for_equipment_and_authorisation_not_the_day_of_typing():
    """Paper is typed in later: what counts is the day of the test."""
    cell = calibrated(CELL, due_on=FACTS.entry.tested_on)
    typed_later = replace(facts(cell=cell), now=NOW + timedelta(days=30))
    assert check(typed_later) == ()
    tested_later = facts(cell=cell, entry={"tested_on": FACTS.entry.tested_on + timedelta(days=1)})
    assert codes(check(tested_later)) == ("calibration-overdue",)


def test_answers_are_equal_by_content():
    assert Answer("negative", "x") == Answer("negative", "x", {})
    assert codes([]) == ()


def test_a_confirmed_check_is_no_answer_any_more_but_is_noticed():
    told = facts(entry={"strength": Decimal("2.10"), "confirmed": ("unusual-value",)}, others=USUAL)
    assert check(told) == ()
    assert codes(noticed(told)) == ("unusual-value",)
    assert noticed(FACTS) == ()
