"""Specimens that may be tested, and all that can be wrong with one."""

from dataclasses import replace

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.specimen import check_specimen

from .good import RUN, SPECIMEN

WRONG = {
    "specimen-elsewhere": {"study_code": "S-2026-002"},
    "not-in-plan": {"in_plan": False},
    "specimen-void": {"void": True},
    "specimen-done": {"result_words": "9.31 N/15mm, kept at 09:14"},
}


def test_a_good_specimen():
    assert check_specimen(SPECIMEN, RUN) == []


@pytest.mark.parametrize("code", WRONG)
def test_one_thing_wrong(code):
    assert codes(check_specimen(replace(SPECIMEN, **WRONG[code]), RUN)) == (code,)


def test_everything_wrong_is_told_at_once():
    fields = {name: value for changed in WRONG.values() for name, value in changed.items()}
    assert codes(check_specimen(replace(SPECIMEN, **fields), RUN)) == tuple(WRONG)


def test_both_studies_are_named():
    [answer] = check_specimen(SPECIMEN, replace(RUN, study_code="S-2026-002"))
    assert answer.why == "SP-000123-N is in S-2026-001. You are in S-2026-002."
