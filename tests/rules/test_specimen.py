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
    assert check_specimen(SPECIMEN, RUN, sent="9.40 N/15mm") == []


@pytest.mark.parametrize("code", WRONG)
def test_one_thing_wrong(code):
    assert codes(check_specimen(replace(SPECIMEN, **WRONG[code]), RUN, sent="9.40 N/15mm")) == (code,)


def test_everything_wrong_is_told_at_once():
    fields = {name: value for changed in WRONG.values() for name, value in changed.items()}
    assert codes(check_specimen(replace(SPECIMEN, **fields), RUN, sent="9.40 N/15mm")) == tuple(WRONG)


def test_both_studies_are_named():
    [answer] = check_specimen(SPECIMEN, replace(RUN, study_code="S-2026-002"), sent="9.40 N/15mm")
    assert answer.why == "SP-000123-N is in S-2026-001. You are in S-2026-002."


def test_the_value_that_is_kept_and_the_one_that_was_sent_are_both_told():
    done = replace(SPECIMEN, result_words="9.31 N/15mm, kept at 09:14")
    [answer] = check_specimen(done, RUN, sent="9.40 N/15mm")
    assert (answer.facts["result"], answer.facts["sent"]) == ("9.31 N/15mm, kept at 09:14", "9.40 N/15mm")
    assert answer.why == (
        "SP-000123-N has 9.31 N/15mm, kept at 09:14. This entry, which is not kept, says 9.40 N/15mm."
    )
