"""Opening a run: what would stop its specimens is said before the first one is pulled."""

from dataclasses import replace

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.facts import Validation
from labrecords.rules.run_opening import check

from .good import CELL, TESTER, calibrated, opening, rate

OUT = {"status": "out of service"}
CASES = [
    ("good", {}, ()),
    ("first run", {"study": {"state": "locked"}}, ()),
    ("draft", {"study": {"state": "draft", "locked": False}}, ("setup-not-locked",)),
    ("in review", {"study": {"state": "in review"}}, ("study-not-open",)),
    ("released", {"study": {"state": "released"}}, ("study-not-open",)),
    ("withdrawn", {"study": {"state": "withdrawn"}}, ("study-not-open",)),
    ("another technique", {"run": {"technique": "B"}}, ("technique-changed",)),
    ("another rate", {"run": {"rate": rate("12 in/min")}}, ("rate-changed",)),
    ("the same rate in the other system", {"run": {"rate": rate("254 mm/min")}}, ()),
    ("tester out", {"tester": OUT}, ("out-of-service",)),
    ("cell out", {"cell": OUT}, ("out-of-service",)),
    ("cell failed", {"cell": calibrated(CELL, passed=False)}, ("calibration-failed",)),
    ("nobody authorised", {"authorisations": ()}, ("not-authorised",)),
    ("takes part in a validation", {"authorisations": (), "validation": Validation(True, True)}, ()),
    ("watches a validation", {"authorisations": (), "validation": Validation(False, True)}, ("not-authorised",)),
    ("order not drawn", {"validation": Validation(True, False)}, ("order-not-drawn",)),
    ("cell too large", {"expected_weak_n": 0.1}, ("cell-too-large",)),
    ("cell too small", {"expected_strong_n": 50.1}, ("cell-too-small",)),
    ("cell too large, accepted", {"expected_weak_n": 0.1, "cell_accepted": True}, ()),
    ("small share", {"expected_strong_n": 4.5}, ("small-share",)),
    ("warm room", {"run": {"room_c": 27.0}}, ("room-outside-limits",)),
]


@pytest.mark.parametrize(("parts", "expected"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_opening(parts, expected):
    assert codes(check(opening(**parts))) == expected


def test_stops_come_first_then_what_holds_then_notes():
    wrong = opening(
        run={"technique": "C", "rate": rate("1 in/min"), "room_c": 27.0},
        tester=replace(TESTER, status="retired"),
        authorisations=(),
        expected_weak_n=0.1,
        expected_strong_n=4.5,
    )
    assert codes(check(wrong)) == (
        "technique-changed",
        "rate-changed",
        "out-of-service",
        "not-authorised",
        "cell-too-large",
        "room-outside-limits",
        "small-share",
    )
